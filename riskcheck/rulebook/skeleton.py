"""A commented starting point for a hazard of one's own; as written it passes every check."""

from __future__ import annotations

import textwrap

from riskcheck.errors import UsageError
from riskcheck.rulebook.checks.names import is_hazard_id

_HAZARD = """\
# @ID@: one failure mode of one design.  Replace every entry; delete what does not apply.
# Read it aloud when done: a technician who has never seen the file should nod or disagree.
# `riskcheck rules check` names every fault with its line; `riskcheck rules cases` runs the cases.
# `riskcheck rules facts WORD` lists facts and topics; `riskcheck rules line "..."` reads a line.
# A fact of your own goes into facts.yaml in your rule folder, its wording into wording/.
id: @ID@
title: Brake hose grows brittle with age
system: Hydraulic brakes
needs: hydraulic brakes with flexible rubber hoses, driven on salted roads
mechanism: >-
  Heat, ozone and flexing harden the rubber; its inside flakes or its outside cracks to the cord.
# The event is what B10 counts: say what somebody would see.
event: a hose cracks to the cord, bulges, leaks, or will not let pressure off
# A noun phrase, for it is put after "it can lead to": "a platform that sinks", not "it sinks".
effect: a wheel that drags or pulls, or a soft pedal
# by_itself: the driver notices.  by_looking: only a look finds it; then `look` is needed.
reveals: by_looking

# Worst credible severity: I death, II lasting injury, III lost day, IV less.
severity: {people: I, money: IV}
# One of the two: per_event (by_itself), or per_year_present (by_looking): chance that one vehicle
# with the fault hurts somebody in a year.  `riskcheck rules show brake-hose-ageing` and other
# shipped hazards show the usual magnitudes: a few in 100,000, rarely more.
harm:
  per_year_present: {value: 0.00004, low: 0.000005, high: 0.0003, unit: "1/y", source: from_memory}

# Life: of 100 vehicles of this design 10 have had the event at b10.  shape above 1 is wear-out.
# source is one of published (with citation: where), common_practice, from_memory, shop_data,
# invented.  low and high are the limits you would bet nine to one on.
life:
  model: weibull
  shape: {value: 3.5, low: 2.5, high: 4.5, unit: "1", source: from_memory}
  clocks:
    - clock: years
      b10: {value: 10, low: 7, high: 14, unit: y, source: from_memory}
  # The clock starts at the last of these events, or when the vehicle was new.
  starts:
    - {topics: [brake_hose], marks: [done]}

# What makes it come sooner.  share: how common that is among the vehicles that b10 speaks of.
factors:
  - finding: rough_roads
    group: duty
    multiplier: {value: 1.3, low: 1, high: 2, unit: "1", source: from_memory}
    share: {value: 0.2, low: 0.1, high: 0.4, unit: "1", source: from_memory}

# Findings read facts (rules/facts.yaml) and earlier findings.  A finding holds if any one of
# its rules holds; a rule holds if all its entries hold.  Six names have a meaning of their own:
#   applies      the vehicle has the design; also where the fault itself was found
#   closed       it is dealt with for now; the hazard is not priced until this ends
#   unproven     a job was done, but the proof that it held is not on file
#   sign         something was reported that this fault would cause: look soon
#   confirmed    the fault was seen and nothing has cured it
#   window_over  a fault of the first miles or days would have shown by now
# Any other name is a step for the rest or a factor.
findings:
  applies:
    says: the vehicle has hydraulic brakes and runs on salted roads
    when:
      - {hydraulic_brakes: true, road_salt: true}
      - {brake_hose_found_bad: true}
  closed:
    says: the hoses were renewed and are not yet old again
    when:
      - {applies: true, confirmed: false, years_since_brake_hoses: {at_most: 6}}
  sign:
    says: pulling or a dragging wheel was reported and nothing was done since
    when:
      - {applies: true, brake_pull_reported: true}
  confirmed:
    says: a hose was seen cracked, bulging or leaking
    when:
      - {applies: true, brake_hose_found_bad: true}
  rough_roads:
    says: much of the running is on gravel
    when:
      - {unpaved_roads: true}

# effect: eliminates, renews or lessens (both with kept_age, the share of age kept), settles.
# opens: ids of hazards that this very job can start.
remedies:
  - id: hoses-renewed
    title: Renew all hoses and bleed the brakes
    recorded_as:
      - {topics: [brake_hose], marks: [done]}
    effect: renews
    kept_age: {value: 0, low: 0, high: 0.1, unit: "1", source: from_memory}
    proof: no leak after holding full pedal pressure for a minute; wheels turn free afterwards

# The cheapest look that finds the fault, and the share of faults it finds.
look:
  title: Bend each hose by hand and look for cracks, with the wheels hanging
  recorded_as:
    - {topics: [brake_hose], marks: [checked_good]}
  minutes: {value: 10, low: 5, high: 15, unit: min, source: from_memory}
  cost: {value: 25, low: 0, high: 40, unit: USD, source: invented}
  finds: {value: 0.8, low: 0.5, high: 0.95, unit: "1", source: from_memory}

# stop, days (3), week (7), fortnight (14), month (30), season, next_visit
urgency: {sign: days, confirmed: stop}

# The preventive job: hours and parts as invoiced.  Jobs with the same teardown share it.  Shipped:
#   @TEARDOWNS@
# skill: level A (most), B or C, with a speciality where one is needed.  It must match what the
# Technicians sheet lists, or the plan places the job with nobody.  Shipped:
#   @SKILLS@
job:
  title: Renew brake hoses
  hours: {value: 2.5, low: 1.5, high: 4, unit: h, source: from_memory}
  parts: {value: 140, low: 80, high: 250, unit: USD, source: from_memory}
  teardown: BRAKE-BLEED
  skill: A brakes

# How the event ends; the shares add up to 1.
outcomes:
  - name: dragging wheel, hose and pads
    share: {value: 0.8, low: 0.6, high: 0.9, unit: "1", source: from_memory}
    cost: {value: 500, low: 250, high: 900, unit: USD, source: from_memory}
    days_down: {value: 1, low: 0.5, high: 2, unit: d, source: from_memory}
    tow: false
  - name: hose bursts
    share: {value: 0.2, low: 0.1, high: 0.4, unit: "1", source: from_memory}
    cost: {value: 900, low: 400, high: 2000, unit: USD, source: from_memory}
    days_down: {value: 2, low: 1, high: 4, unit: d, source: from_memory}
    tow: true
# loss_group: losses of one group cannot be had twice.  causes: shared with hazards that travel
# with it, so that they are looked at together.
loss_group: brakes
causes: []
# any, before_frost, after_salt, before_heat, before_towing, tyre_change
season: any

# Chances are filled in: {many} of {of} within {period}, {low} to {high}.  Never type them.
words:
  say: >-
    Rubber brake hoses harden with age. Of {of} vehicles like yours we would expect about {many}
    ({low} to {high}) to show it within {period}. A ten-minute look settles it.
  ask: Were the rubber brake hoses ever renewed, and when?
  cautions:
    - Follow the manufacturer's bleeding procedure; road-test before release.
goes_wrong: >-
  A hose that was renewed elsewhere counts as old until someone reads the date printed on it.
sources: []
"""

TEARDOWNS = (
    "BATTERY-OPEN", "BRAKE-BLEED", "COOLANT-DRAIN", "DRIVELINE-OUT", "EXHAUST-OFF", "FRONT-COVER",
    "FUEL-OPEN", "INTAKE-ACCESS", "INTAKE-OFF", "LOF", "NONE", "REAR-SEAT", "TOW-RIG",
    "UNDER-LIFT", "WHEELS-OFF",
)  # fmt: skip
SKILLS = (
    "A", "B", "C", "A alignment", "A brakes", "A diesel", "B brakes", "B diesel", "B electrical",
    "high voltage",
)  # fmt: skip

_CASES = """\
# Cases of @ID@: one vehicle each, expected results worked out by hand from the rules above.
# Facts that are not named are silent in the record; a list is a set of possible values.
cases:
  - name: a salted vehicle with hydraulic brakes and no hose line on file is exposed
    facts: {hydraulic_brakes: true, road_salt: true}
    expect: {status: exposed, fails: [closed]}
  - name: hoses renewed six years ago are closed
    facts: {hydraulic_brakes: true, road_salt: true, years_since_brake_hoses: 6}
    expect: {status: closed, holds: [closed]}
  - name: hoses renewed a tenth of a year earlier count as exposed again
    facts: {hydraulic_brakes: true, road_salt: true, years_since_brake_hoses: 6.1}
    expect: {status: exposed, fails: [closed]}
  - name: whether it runs on salted roads is not on file
    facts: {hydraulic_brakes: true, road_salt: null}
    expect: {status: unknown, questions: [road_salt]}
  - name: a vehicle without hydraulic brakes is another design
    facts: {hydraulic_brakes: false, road_salt: true}
    expect: {status: not_applicable}
  - name: a reported pull is a sign
    facts: {hydraulic_brakes: true, road_salt: true, brake_pull_reported: true}
    expect: {status: exposed, evidence: sign}
  - name: a cracked hose is confirmed, however new it is said to be
    facts:
      hydraulic_brakes: true
      road_salt: true
      brake_hose_found_bad: true
      years_since_brake_hoses: 1
    expect: {status: exposed, evidence: confirmed, fails: [closed]}
"""


def skeleton(hazard_id: str) -> str:
    """Text of ``hazards/ID.yaml`` for a new hazard.

    Raises UsageError when the id is not made of a-z, 0-9 and single hyphens.
    """
    return _filled(_HAZARD, hazard_id)


def skeleton_cases(hazard_id: str) -> str:
    """Text of ``hazards/ID.cases.yaml`` to go beside it; errors as ``skeleton``."""
    return _filled(_CASES, hazard_id)


def _filled(text: str, hazard_id: str) -> str:
    if not is_hazard_id(hazard_id):
        raise UsageError(
            f"'{hazard_id}' cannot be a hazard id; use small letters, digits and hyphens, "
            "like brake-hose-ageing"
        )
    for mark, known in (("@TEARDOWNS@", TEARDOWNS), ("@SKILLS@", SKILLS)):
        lines = textwrap.wrap(", ".join(known), 90, break_on_hyphens=False)
        text = text.replace(mark, "\n#   ".join(lines))
    return text.replace("@ID@", hazard_id)
