"""The trade's own words for each job: (labour hours, parts $, ways of writing it down).

Every line is invented.  Hours and prices are common practice, no source.
"""

from __future__ import annotations

JOBS: dict[str, tuple[float, float, tuple[str, ...]]] = {
    "oil": (
        0.5,
        52,
        (
            "LOF",
            "lube oil filter",
            "LOF, reset light",
            "oil & filter, top fluids",
            "LOF 5w30 6qt",
            "oil chg, set tires, ck lights",
            "LOF w/ inspection",
            "oil svc, sticker",
        ),
    ),
    "oil_diesel": (
        0.7,
        118,
        (
            "LOF diesel 15w40 13 qts",
            "oil & filter, drain water sep",
            "LOF + grease chassis",
            "PM-A: LOF, grease, ck belts & hoses",
            "diesel LOF, reset",
        ),
    ),
    "inspect": (
        0.4,
        0,
        (
            "state insp - pass",
            "annual insp, sticker",
            "multi point insp, see sheet",
            "courtesy ck, all lamps ok",
            "safety insp done",
        ),
    ),
    "noise": (
        0.8,
        60,
        (
            "serpentine belt replaced",
            "cabin filter",
            "wipers frt",
            "key fob battery",
            "air filter",
            "headlamp bulb LF",
            "AC recharge, dye added",
            "blower motor resistor",
            "P/S hose replaced",
            "alignment only",
            "trans fluid & filter",
            "fuel pump replaced",
            "undercoating applied",
            "greased chassis",
            "hydraulic hose leak PTO",
            "reprogram radio",
            "door latch adj",
            "exhaust hanger replaced",
            "fuel filtr R&R",
            "DEF sensor replaced",
            "front shocks, pr",
            "washer pump",
            "driver seat belt buckle",
            "mirror glass RH",
            "hitch ball & pin, cust supplied",
            "windshield chip fill",
            "ck engine light, evap gas cap, cleared",
            "u joint rear replaced",
            "spark plugs & coils",
            "transfer case fluid",
            "injecter #3 replaced",
            "EGR valve R&R",
        ),
    ),
    "pads": (
        1.6,
        145,
        (
            "frt brakes pads & rotors",
            "R&R rear pads, lube slides",
            "brakes frt - pads, turn rotors",
            "rear pads only",
        ),
    ),
    "rotate": (
        0.4,
        0,
        ("rotate tires", "tire rotation, set psi", "ROTATE & BAL", "rot tires w/ LOF"),
    ),
    "tires4": (
        1.2,
        720,
        (
            "mount & bal 4 tires",
            "4 new tires, M&B, new stems",
            "R&R all tires (4), bal",
            "installed 4 A/T tires",
        ),
    ),
    "tires6": (
        2.4,
        1_640,
        (
            "R&R all tires (6), bal",
            "6 new tires, duals matched, M&B",
            "mount & bal 6 tires",
        ),
    ),
    "winter": (
        1.0,
        40,
        (
            "swap to winter tires",
            "install winters on rims, store summers",
            "winter tire changeover",
        ),
    ),
    "torque_fit": (
        0.0,
        0,
        ("torqued lugs at install", "lugs tq'd to spec at fit", "tq wheels 140 ft lb at install"),
    ),
    "retorque": (
        0.2,
        0,
        (
            "RE-TORQUE 50 MI, ALL OK",
            "retorqued wheels - cust return",
            "re-tq lugs, 60 mi, none moved",
            "wheel re-torque check done, no chg",
        ),
    ),
    "tread_ok": (
        0.1,
        0,
        ("tire tread 8/8/7/7 ok", "tires good 7/32 all", "tread 9/9/8/8", "ck tires 6/6/7/7 ok"),
    ),
    "tires_decl": (
        0.1,
        0,
        (
            "rec 4 tires, 4/32 frt - declined",
            "tires due soon, cust will wait",
            "adv tires, quoted, decl",
        ),
    ),
    "plug": (0.4, 8, ("plugged RR nail", "flat repair LF, plug patch", "tire repair RF screw")),
    "battery": (
        0.4,
        168,
        (
            "battery replaced",
            "new batt, clean terms",
            "BATT R&R, 60 mo",
            "R&R battery, test chg 14.2v",
        ),
    ),
    "batteries": (
        0.6,
        336,
        (
            "BATT R&R X2 AGM",
            "replaced both batteries",
            "2 new batts, clean cables",
            "R&R batteries pr",
        ),
    ),
    "battery_ok": (
        0.1,
        0,
        ("batt test good 680/700", "bat tested 715/730 ok", "ck batt & chg, good"),
    ),
    "battery_decl": (
        0.1,
        0,
        (
            "bat tested 412/730 replace - declined",
            "batt weak 380/650 rec replace, decl",
            "rec battery, cust declined",
        ),
    ),
    "battery_weak": (
        0.2,
        0,
        ("baterry weak", "batt failed load test, will return", "slow crank, jump start"),
    ),
    "terminals": (0.3, 4, ("cleaned batt terms", "clean & protect battery terminals")),
    "coolant": (
        1.4,
        95,
        (
            "flush cooling sys, new tstat",
            "coolant flush, -34F, ph 9",
            "cooling system flush & fill",
            "exchange coolant, bleed, ok",
        ),
    ),
    "coolant_partial": (0.8, 48, ("drain & fill coolant", "drained rad & refilled, not block")),
    "coolant_decl": (
        0.1,
        0,
        ("coolant dirty, rec flush - decl", "cust declined coolant svc", "cooant svc recomended"),
    ),
    "coolant_ok": (
        0.1,
        0,
        ("coolant ck -34F ok", "tested coolant, ph 8.8 good", "antifreeze good to -30F"),
    ),
    "coolant_bad": (0.2, 0, ("coolant rusty, -8F only, quoted", "coolant leak w/p")),
    "coolant_not": (0.0, 0, ("coolant NOT flushed, lvl adjusted",)),
    "belt_kit": (
        4.8,
        410,
        (
            "timing belt kit, w/p, tensioner, idlers, coolant",
            "T-BELT KIT + WATER PUMP, ALL IDLERS",
            "R&R timing belt, tensioner, pump, seals",
        ),
    ),
    "belt_only": (
        3.9,
        96,
        ("replaced timming belt only", "t-belt only per cust, tensioner reused"),
    ),
    "belt_decl": (
        0.1,
        0,
        (
            "advise belt at next svc",
            "timing belt due, quoted, declined",
            "T/B not replaced - no history",
        ),
    ),
    "belt_look": (0.4, 0, ("insp t-belt thru cover ok", "t belt ck, no cracks seen")),
    "pump_only": (2.6, 120, ("WP replaced, re-used belt per cust",)),
    "belt_oil": (0.3, 0, ("oil on timing belt, cam seal leak, quoted",)),
    "hoses": (
        2.2,
        128,
        (
            "front brake hoses replaced, pr, flush",
            "front brake lines (rubber) replaced",
            "R&R all brake hoses, bleed, hold 125 lb 10s ok",
        ),
    ),
    "hose_one": (1.0, 46, ("replaced RF brake hose", "R&R LF brake hose only, bleed")),
    "hoses_ok": (
        0.2,
        0,
        ("brake hoses ok lock to lock", "insp brk hoses, no cracks", "hoses & lines visual ok"),
    ),
    "hoses_decl": (
        0.1,
        0,
        ("brake hoses orig, rec replace, decl", "adv brake hoses by age, cust wants to think"),
    ),
    "hoses_found": (0.2, 0, ("brake hoses cracked at bracket", "brake hoes bulging")),
    "hoses_not": (0.0, 0, ("brake hose NOT replaced - part B/O",)),
    "bleed": (0.7, 18, ("bled brakes", "brake fluid exchange", "flushed brakes all 4")),
    "pipes_ok": (
        0.2,
        0,
        ("underside ck, lines ok", "brake & fuel lines ok", "undercar insp ok"),
    ),
    "pipes_done": (
        5.2,
        290,
        ("replaced rear brake lines, copper nickel, flush", "R&R brake line set, CuNi, bleed"),
    ),
    "pipes_splice": (1.2, 34, ("fuel line splice RR", "spliced brake line at frame")),
    "pipes_decl": (
        0.1,
        0,
        ("brake line NOT replaced - est given", "adv brake line set by age, decl"),
    ),
    "pipes_found": (
        0.3,
        0,
        ("brake line scaling bad at rear, see pics", "fuel line wet above tank"),
    ),
    "exhaust": (
        0.3,
        0,
        ("exhuast leak frt, replaced flex & gaskets", "muffler & tailpipe replaced"),
    ),
    "heater_ok": (0.3, 0, ("ck grid heater stud tight, pics", "grid heater insp ok, stud bright")),
    "heater_retq": (
        0.8,
        6,
        ("re-tq grid htr stud nut + threadlkr", "tightened grid heater nut, loctited"),
    ),
    "heater_decl": (
        0.1,
        0,
        (
            "rec'd grid heater repl - customer declined",
            "adv secured htr kit, C/D",
            "quoted htr upgrade, will think",
        ),
    ),
    "heater_look_alike": (
        0.9,
        74,
        (
            "repl air heater RELAY",
            "R&I intake horn for EGR cleaning",
            "block heater cord replaced",
            "cabin heater core flush",
            "fuel heater o-ring",
        ),
    ),
    "heater_new": (
        2.2,
        380,
        ("new grid heater, same style, gaskets", "replaced intake air heater w/ OE type"),
    ),
    "heater_captive": (
        2.6,
        455,
        (
            "captive stud grid heater upgrade installed",
            "installed secured-stud intake heater plate kit",
        ),
    ),
    "heater_ground": (
        0.6,
        38,
        (
            "installed ground strap htr plate to block, 182 amps both legs",
            "htr ground strap fitted, 178 amps both legs, .05v drop",
        ),
    ),
    "heater_loose": (0.3, 0, ("intake heeter bolt loose see pics",)),
    "smoke": (
        0.0,
        0,
        ("C/S hard start & white smoke cold am", "CUST STATES white smoke on start up"),
    ),
    "pulls": (0.0, 0, ("C/S pulls right on braking", "cust states hot wheel smell RF")),
    "clean_complaint": (0.5, 0, ("C/S squeak over bumps - NPF", "cust states vibration hwy, UTD")),
}

MISSPELT = {
    "battery": "baterry",
    "replaced": "replacd",
    "coolant": "cooant",
    "installed": "instaled",
    "brake": "brke",
    "tires": "tirs",
    "front": "frnt",
    "customer": "custmer",
    "rotate": "rotaet",
    "belt": "blet",
    "exhaust": "exhuast",
    "filter": "fliter",
}

LONG_TAILS = (
    ", paid at pickup",
    " (cust waited)",
    ", road test ok",
    " per dispatch, unit needed back by 2 pm",
    ", reset & road test 6 mi no codes",
    " - adv cust will keep an eye on it till next svc",
)
