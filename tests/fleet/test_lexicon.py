"""Wording: labelled lines of the trade, traps, layering, worksheets.

The labels are our own labelling (common practice, no source); all lines are invented.  ``listed``
lines were given; ``own`` and ``wider`` served while the wording was written; ``heldout`` was
written before it and never used to change it.  ``fresh`` (289), ``blind`` (155) and ``third``
(119) were labelled before they were first read: at that first reading 231, 120 and 84 agreed and
4, 3 and 3 were wrongly read as done; the wording was then mended.  ``fourth`` (69 things not
done) came last: 41 agreed at first and 4 were read as done (names of jobs amid talk).  ``hard``
lines are known to be read more weakly than a technician would, and are held to "never done" only.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from pathlib import Path

import pandas as pd
import pytest

from riskcheck.errors import InputError, RulebookError
from riskcheck.fleet import lexicon, lexicon_crew, lexicon_unread
from riskcheck.fleet.lexicon_clauses import expand
from riskcheck.vocabulary import MARK_ORDER
from riskcheck.yamlfile import dump

ROOT = Path(__file__).parents[2]
DATA = Path(__file__).parent / "data"
MARKS = {
    "D": "done",
    "P": "partial",
    "K": "checked_good",
    "F": "finding",
    "R": "recommended",
    "N": "not_done",
    "O": "opens",
    "X": "absent",
    "A": "ambiguous",
    "complaint": "complaint",
}


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / f"wording_{name}.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def words() -> lexicon.Lexicon:
    return lexicon.load([ROOT / "rules"])


def marks_for(words: lexicon.Lexicon, row: dict[str, str]) -> set[str]:
    """Marks of all events that ``read`` gives a line for its hazard."""
    events = words.read([row["line"]])
    told = zip(events["hazards"], events["mark"], strict=True)
    return {mark for hazards, mark in told if row["hazard_id"] in hazards.split("; ")}


def agrees(want: str, got: str) -> bool:
    """A part that only sounds alike may give no event at all."""
    return got == want or (want == "not_done" and got == "")


@pytest.mark.parametrize(
    ("name", "share"),
    [
        ("listed", 0.98),
        ("own", 0.98),
        ("wider", 0.98),
        ("heldout", 0.95),
        ("fresh", 0.95),
        ("blind", 0.85),
    ],
)
def test_labelled_lines_read_as_the_technician_reads_them(
    words: lexicon.Lexicon, name: str, share: float
) -> None:
    wrong = [
        (row["line"], row["mark"], got)
        for row in rows(name)
        if not agrees(MARKS[row["mark"]], got := words.verdict(row["line"], row["hazard_id"]))
    ]
    assert len(wrong) <= (1 - share) * len(rows(name)), wrong


@pytest.mark.parametrize(
    "name", ["listed", "own", "wider", "heldout", "hard", "fresh", "blind", "third", "fourth"]
)
def test_done_is_never_read_where_it_was_not_done(words: lexicon.Lexicon, name: str) -> None:
    for row in rows(name):
        if row["mark"] == "D":
            continue
        assert "done" not in marks_for(words, row), row


def test_traps_never_read_as_done(words: lexicon.Lexicon) -> None:
    for row in rows("traps"):
        assert words.verdict(row["line"], row["hazard_id"]) != "done", row
        assert "done" not in marks_for(words, row), row


PRECISION = {  # least share of verdicts that are right, over all labelled lines, measured
    "done": 1.0, "opens": 0.9, "partial": 0.97, "finding": 0.95, "recommended": 0.94,
    "checked_good": 0.96, "not_done": 0.93,
}  # fmt: skip


def test_precision_of_each_mark_over_all_labelled_lines(words: lexicon.Lexicon) -> None:
    said: dict[str, int] = defaultdict(int)
    right: dict[str, int] = defaultdict(int)
    for name in ("listed", "own", "wider", "heldout", "fresh", "blind", "third", "fourth", "hard"):
        for row in rows(name):
            got = words.verdict(row["line"], row["hazard_id"])
            said[got] += 1
            right[got] += agrees(MARKS[row["mark"]], got)
    shares = {mark: right[mark] / said[mark] for mark in PRECISION}
    assert {mark: share for mark, share in shares.items() if share < PRECISION[mark]} == {}


NOT_DONE = (
    "{} replaced - customer declined", "rec replace {}", "recommend {} replacement",
    "{} not replaced", "quoted {} replacement", "{} needs to be replaced", "did not replace {}",
    "{} replacement B/O", "{} replaced elsewhere", "replaced {} at another shop",
    "verify {} replaced", "will replace {} next visit", "{} replacement due", "replace {}?",
    "check if {} was replaced", "price to replace {}", "{} should be replaced soon",
    "cust to replace {} himself", "{} replaced - void", "credit {} replaced", "est replace {}",
    "cust asked about replacing {}", "{} replaced by customer", "{} was replaced 2 years ago",
    "per customer request do not replace {}", "C/S {} replaced last month", "declined: replace {}",
    "DECLINED - replace {}", "waiting on approval to replace {}", "{} core return",
    "{} ordered, install next week", "{} has not been replaced", "{} never replaced",
    "sold {} over the counter", "tried to replace {}, seized", "{} REPL NOT AUTH",
    "no need to replace {}", "cust to return to replace {}", "deferred {} replacement",
    "{} gasket replaced", "{} cover replaced",
    "{} bracket replaced", "{} bolts replaced", "{} sensor replaced", "{} clamp R&R",
    "r&r gasket on {}", "new bolts for {}", "replaced clip holding {}", "{} hardware replaced",
    "{} fuse replaced", "{} wiring repaired", "removed and reinstalled {}", "leaking {}, replace",
)  # fmt: skip


def test_whatever_the_part_work_that_was_not_done_is_never_read_as_done(
    words: lexicon.Lexicon,
) -> None:
    """Every name of every subject in every shape of a refusal, a plan or a part of the part."""
    said = {word for name, phrases in words.wording.signals.items() if name != "beside"
            for each in phrases for word in words.wording.spelled(each.split())}  # fmt: skip
    names = [
        name
        for subject in words.wording.subjects.values()
        for called in subject.called
        for name in map(words.wording.spelled, expand(called))
        if not said.intersection(name)
    ]
    parts = [" ".join(name) for name in names]
    done = words.read([f"{part} replaced" for part in parts])
    real = sorted({parts[at] for at in done.loc[done["mark"] == "done", "line_no"]})
    assert len(real) > 100
    lines = [shape.format(part) for part in real for shape in NOT_DONE]
    wrong = words.read(lines)
    assert [lines[at] for at in wrong.loc[wrong["mark"] == "done", "line_no"]] == []


@pytest.mark.parametrize(
    ("line", "mark"),
    [
        ("brake hose replaced", "partial"),
        ("brake hoses replaced", "done"),
        ("both brake hose R&R", "done"),
        ("R rear brake hose replaced", "partial"),
        ("ball joint R&R", "partial"),
        ("ball jts R&R", "done"),
    ],
)
def test_one_of_a_pair_is_the_lesser_job(words: lexicon.Lexicon, line: str, mark: str) -> None:
    events = words.read([line])
    assert mark in set(events["mark"])
    assert ("done" in set(events["mark"])) == (mark == "done")


def test_no_pattern_matches_only_one_listed_line(words: lexicon.Lexicon) -> None:
    used: dict[str, set[str]] = defaultdict(set)
    listed = {row["line"] for row in rows("listed")}
    for name in ("listed", "own", "wider", "heldout", "traps", "fresh", "blind", "third", "fourth"):
        for row in rows(name):
            for pattern in words.patterns_used(row["line"]):
                used[pattern].add(row["line"])
    lonely = sorted(name for name, lines in used.items() if len(lines) == 1 and lines <= listed)
    assert lonely == [], lonely


@pytest.mark.parametrize(
    ("line", "topic", "quantity", "value", "mark"),
    [
        ("strap fitted heater to block, 94 amps both legs", "intake_heater_ground",
         "heater_feed_current_a", 94, "proof"),
        ("grid heater 0 amps", "intake_heater_ground", "heater_feed_current_a", 0, "finding"),
        ("ck htr ground ok .04v drop", "intake_heater_ground", "heater_ground_drop_v", 0.04,
         "proof"),
        ("coolant ck OK nitrite 300", "coolant_test", "coolant_nitrite_ppm", 300, "finding"),
        ("coolant tested good 1,600ppm", "coolant_test", "coolant_nitrite_ppm", 1600, "proof"),
        ("bat tested 412/730", "battery", "battery_cca", 412, "finding"),
        ("tire tread 8/8/7/7 ok", "tyre", "tyre_tread_32nds", 7, "proof"),
        ("brake fluid 4%", "brake_fluid", "brake_fluid_moisture_pct", 4, "finding"),
        ("ALT R&R 14.2V", "alternator", "charge_v", 14.2, "proof"),
    ],
)  # fmt: skip
def test_values_are_read_and_beat_the_verdict(
    words: lexicon.Lexicon, line: str, topic: str, quantity: str, value: float, mark: str
) -> None:
    events = words.read([line])
    found = events[events["quantity"] == quantity]
    assert list(found["topic"]) == [topic]
    assert found["value"].iloc[0] == pytest.approx(value)
    assert list(found["mark"]) == [mark]


# Conversions: 1 in = 25.4 mm, 1 lbf ft = 1.3558179483 N m, 1 psi = 6894.757 Pa,
# 1 inH2O = 249.08891 Pa (NIST SP 811, appendix B.8); 1 bar = 100 kPa; F = 1.8 C + 32.
@pytest.mark.parametrize(
    ("line", "quantity", "value"),
    [
        ("tire tread 4mm", "tyre_tread_32nds", 4 / 25.4 * 32),
        ("tread 5/32 LF 3/32 RF", "tyre_tread_32nds", 3),
        ("tires 6-5-5-6/32", "tyre_tread_32nds", 5),
        ("DOT 2316", "tyre_dot_year", 2016),
        ("spare tire 2011 dated adv", "tyre_dot_year", 2011),
        ("lug nuts 190 nm", "wheel_torque_lbft", 190 / 1.3558179483),
        ("rail pressure 350 bar", "rail_pressure_psi", 350e5 / 6894.757),
        ("crankcase 20 mbar", "crankcase_pressure_inh2o", 2000 / 249.08891),
        ("crankcase press 2 kpa", "crankcase_pressure_inh2o", 2000 / 249.08891),
        ("dpf diff pressure 10 kpa", "dpf_pressure_psi", 10e3 / 6894.757),
        ("trans temp 120c", "trans_temp_f", 1.8 * 120 + 32),
        ("coolant protected to -25c", "coolant_freeze_c", -25),
        ("coolant protected to -20f", "coolant_freeze_c", (-20 - 32) / 1.8),
        ("parasitic draw .085a", "battery_draw_ma", 85),
        ("LF ball joint 1.5mm play", "joint_play_in", 1.5 / 25.4),
        ("strap drop .05v, lug 12C over block", "strap_lug_rise_c", 12),
        ("NEW BATTERY 800CCA INSTALLED", "battery_rated_cca", 800),
        ("battery 620cca rated 800", "battery_cca", 620),
        ("battery 14.1v charging", "charge_v", 14.1),
        ("dpf ash 104%", "dpf_ash_pct", 104),
        ("pads 6mm frt 4mm rear", "pad_thickness_mm", 4),
    ],
)
def test_values_come_in_the_unit_of_their_quantity_and_the_worst_of_several_counts(
    words: lexicon.Lexicon, line: str, quantity: str, value: float
) -> None:
    events = words.read([line])
    found = events.loc[events["quantity"] == quantity, "value"]
    assert list(found) == [pytest.approx(value, rel=1e-4)]


@pytest.mark.parametrize("line", ["pads 4mm frt 6mm rear", "batt 12.4v", "tires 6/32"])
def test_a_part_named_beside_its_reading_was_only_measured(
    words: lexicon.Lexicon, line: str
) -> None:
    assert set(words.read([line])["mark"]) <= {"", "proof", "finding"}


def test_a_number_that_cannot_be_a_date_code_is_none(words: lexicon.Lexicon) -> None:
    # 49 CFR 574.5: the week runs from 01 to 53
    for line in ("tire DOT 6016", "tire DOT 0016", "tire DOT 123"):
        assert "tyre_dot_year" not in set(words.read([line])["quantity"])


def test_freeze_point_is_converted_to_celsius(words: lexicon.Lexicon) -> None:
    # -34 F = -36.67 C: (F - 32) / 1.8, the definition of the Fahrenheit scale
    events = words.read(["coolant freeze point -34f"])
    found = events[events["quantity"] == "coolant_freeze_c"]
    assert found["value"].iloc[0] == pytest.approx((-34 - 32) / 1.8, abs=1e-3)


def test_lines_fan_out_by_place_and_keep_the_piece_that_decided(words: lexicon.Lexicon) -> None:
    lines = ["Replaced pads, hoses cracked - declined", "", "Battery R&R", "battery r&r"]
    events = words.read([*lines, lines[0]])
    assert set(events["line_no"]) == {0, 2, 3, 4}
    first = events[events["line_no"] == 0].drop(columns="line_no").reset_index(drop=True)
    last = events[events["line_no"] == 4].drop(columns="line_no").reset_index(drop=True)
    pd.testing.assert_frame_equal(first, last)
    hoses = events[(events["topic"] == "brake_hose") & (events["line_no"] == 0)]
    assert "hoses cracked" in set(hoses["words"])
    assert set(events["mark"]) <= {*MARK_ORDER, ""}


@pytest.mark.parametrize("lines", [[], [""], ["///", "-1", "((((", "R&R", "no", "  ,,; "]])
def test_empty_and_senseless_lines_give_no_events(words: lexicon.Lexicon, lines: list[str]) -> None:
    assert words.read(lines).empty


def test_reading_does_not_depend_on_what_was_read_before(words: lexicon.Lexicon) -> None:
    lines = [row["line"] for row in rows("listed")]
    fresh = lexicon.load([ROOT / "rules"])
    backwards = fresh.read(lines[::-1])
    backwards["line_no"] = len(lines) - 1 - backwards["line_no"]
    backwards = backwards.sort_values("line_no", kind="stable", ignore_index=True)
    pd.testing.assert_frame_equal(words.read(lines), backwards)


def test_unread_wordings_come_by_frequency_with_the_nearest_phrase(
    words: lexicon.Lexicon,
) -> None:
    lines = ["wiper blades fitted"] * 2 + ["zorp quillet"] * 3 + ["battery replaced"]
    unread = words.unread(lines)
    assert list(unread["wording"]) == ["zorp quillet", "wiper blades fitted"]
    assert list(unread["count"]) == [3, 2]


def test_a_filled_worksheet_teaches_the_lexicon(words: lexicon.Lexicon, tmp_path: Path) -> None:
    sheet = lexicon_unread.worksheet_rows(
        words.unread(["zorp quillet 12", "blue flange"]), words.wording
    )
    sheet["topic"] = ["nothing", "Brake hose"]
    sheet["mark"] = ["", "finding"]
    content = lexicon_unread.read_worksheet_rows(sheet, words.wording.topics)
    (tmp_path / "shop.yaml").write_text(dump(content), encoding="utf-8")
    taught = lexicon.load([ROOT / "rules", tmp_path])
    assert words.verdict("zorp quillet", "brake-hose-ageing") == ""
    assert taught.verdict("ZORP QUILLET 99", "brake-hose-ageing") == "finding"
    assert taught.unread(["zorp quillet 12", "blue flange"]).empty


def test_a_worksheet_with_an_unknown_topic_names_row_and_likely_topic() -> None:
    sheet = pd.DataFrame({"wording": ["zorp"], "topic": ["brake_hos"], "mark": ["done"]})
    with pytest.raises(
        InputError, match=r"row 2: no topic is called brake_hos; did you mean brake"
    ):
        lexicon_unread.read_worksheet_rows(sheet, ["brake_hose", "tyre"])


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ("subjects:\n  zorp:\n    called: [zorp]\n    topic: nowhere\n", 4, "no topic is called"),
        ("subjects:\n  zorp:\n    called: [zorp]\n    topic: tyre\n    does:\n"
         "      fry: tyre done\n", 6, "nothing can be fry"),
        ("signals:\n  shouted: [hey]\n", 2, "no signal is called shouted"),
        ("lines:\n- {wording: a b, topic: tyre, mark: great}\n", 2, "no mark is called great"),
        ("colours: [red]\n", 1, "colours"),
        ("topics:\n  a: {hazards: [x]}\n", 2, "says"),
    ],
)  # fmt: skip
def test_a_faulty_wording_file_names_file_and_line(
    tmp_path: Path, text: str, line: int, what: str
) -> None:
    path = tmp_path / "shop.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RulebookError) as caught:
        lexicon.load([ROOT / "rules", tmp_path])
    assert f"{path}:{line}: " in str(caught.value)
    assert what in str(caught.value)


def test_a_folder_without_wording_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match="no wording files"):
        lexicon.load([tmp_path])


def test_a_shop_layer_replaces_a_subject_by_name(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(
        "subjects:\n  battery:\n    called: [battery]\n    topic: battery\n"
        "    does: {replace: battery partial}\n",
        encoding="utf-8",
    )
    layered = lexicon.load([ROOT / "rules", tmp_path])
    assert layered.verdict("battery replaced", "battery-age-parasitic") == "partial"


@pytest.mark.parametrize(
    "line",
    ["baterry replaced", "battrey replaced", "battery replcaed", "BATT. REPL'D", "batteryreplaced"],
)
def test_misspellings_are_tolerated(words: lexicon.Lexicon, line: str) -> None:
    assert words.verdict(line, "battery-age-parasitic") == "done"


def test_helpers_on_other_cores_change_nothing(
    words: lexicon.Lexicon, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = [row["line"] for name in ("listed", "own", "fresh", "blind") for row in rows(name)]
    alone = words.collect(lines)
    monkeypatch.setattr(lexicon_crew, "ENOUGH", 10)
    monkeypatch.setattr(lexicon_crew, "cores", lambda: 3)
    shared = lexicon_crew.share_out(words.wording, lines, words.collect)
    told = [[found.rows[at] for at in found.readings] for found in (alone, shared)]
    assert told[0] == told[1]
    assert alone.words == shared.words
    assert alone.quantities == shared.quantities


def test_a_helper_that_fails_leaves_its_share_to_the_parent(
    words: lexicon.Lexicon, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = [f"battery replaced {place}" for place in range(30)]
    monkeypatch.setattr(lexicon_crew, "ENOUGH", 10)
    monkeypatch.setattr(lexicon_crew, "cores", lambda: 2)
    monkeypatch.setattr(lexicon_crew, "_COMMAND", ("-c", "raise SystemExit(1)"))
    assert lexicon_crew.share_out(words.wording, lines, words.collect).words == lines
