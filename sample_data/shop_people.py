"""Customers of the invented shop: invented names, numbers and addresses nobody can have.

Telephone numbers end in 555-0100 to 555-0199, a range kept for fiction in North America; e-mail
addresses use example.com and example.org, which are reserved (RFC 2606).
"""

from __future__ import annotations

from dataclasses import dataclass

from dice import Dice, listed

FIRST = listed(
    "Wren,Odell,Marit,Tobin,Ilse,Corwin,Hanna,Leif,Petra,Amos,Della,Rurik,Nell,Caspar,Orla,Jory,"
    "Vesna,Alder,Ruth,Milo,Sunniva,Gus,Thea,Ewan,Lottie,Bram,Inga,Clem,Freya,Otis"
)
LAST = listed(
    "Brackenhall,Tarnowick,Sedgeley,Quillstone,Hathersby,Rusken,Oxmoorland,Pellgate,Vantreskow,"
    "Dunmarrow,Ashgrimley,Kestrelby,Lorrimond,Fennimarsh,Harkenthal,Stoverly,Wexcombe,Ollerby,"
    "Marrowdale,Thistlewane,Crannick,Yarnfield,Gorsehill,Peverlock,Sallowby,Birkenrow,Tansyford,"
    "Wickerholt,Nettlecroft,Ravensike,Copperthwaite,Elmsgarth,Hollinmere,Juniperly,Larchwood,"
    "Minnowbrook,Plovergate,Reedham-Oxley,Saltmarshe,Umberleigh"
)
STREETS = listed("Mill Race,Weir Lane,Upper Sedge Rd,Ferry St,Quarry Hill,Orchard Row,County Rd 9")
NOTES = (
    "",
    "",
    "",
    "",
    "",
    "prefers mornings",
    "works nights - pm only",
    "pays cash",
    "has loaner",
    "ask for spouse",
    "moved 2024, new address",
    "hard of hearing, text pls",
    "plow contract Nov-Mar",
)


@dataclass(frozen=True)
class Customer:
    """One row of the customer sheet."""

    key: str
    name: str
    phone: str
    email: str
    address: str
    kind: str
    fleet: str
    call: str
    text: str
    mail: str
    opt_out: str
    notes: str

    def row(self) -> list[object]:
        """Cells in the order of CUSTOMER_HEADINGS."""
        return [
            self.key,
            self.name,
            self.phone,
            self.email,
            self.address,
            self.kind,
            self.fleet,
            self.call,
            self.text,
            self.mail,
            self.opt_out,
            self.notes,
        ]


CUSTOMER_HEADINGS = listed(
    "Cust #,Name,Phone,Email,Address,Kind,Fleet name,OK to call,OK to text,"
    "OK to email,Opt out,Notes"
)

FLEETS = (
    ("C001", "Marit Hollinmere", "Larkhollow Pupil Transport", "calls before 6 am or after 3 pm"),
    ("C002", "Otis Pellgate", "Millrace Parcel Runs", "dispatch desk, any time; one list a week"),
    (
        "C003",
        "Ilse Fennimarsh",
        "Upper Sedge Growers' Co-op",
        "harvest Aug 20 - Oct 10, keep trucks",
    ),
)


def _phone(number: int, style: int) -> str:
    """A number in 555-01xx; three ways of writing it, as people do."""
    area, tail = ("406", "307", "208")[number // 100 % 3], 100 + number % 100
    return (f"({area}) 555-0{tail}", f"{area}-555-0{tail}", f"{area}.555.0{tail}")[style % 3]


def people(dice: Dice, retail: int) -> list[Customer]:
    """The three fleets and so many retail customers."""
    rows = [
        Customer(
            key,
            name,
            _phone(i, 0),
            f"office{i + 1}@example.org",
            f"{10 + i} Depot Rd",
            "fleet",
            fleet,
            "Y",
            "Y",
            "Y",
            "",
            note,
        )
        for i, (key, name, fleet, note) in enumerate(FLEETS)
    ]
    taken: set[str] = set()
    while len(rows) < retail + len(FLEETS):
        name = f"{dice.pick(FIRST)} {dice.pick(LAST)}"
        if name in taken:
            continue
        taken.add(name)
        rows.append(_retail(dice, len(rows), name))
    return rows


def _retail(dice: Dice, number: int, name: str) -> Customer:
    written = name if dice.chance(0.8) else ", ".join(reversed(name.split(" ", 1)))
    email = f"{name.split()[0].lower()}{number}@example.com" if dice.chance(0.7) else ""
    return Customer(
        key=f"C{number + 1:03d}",
        name=written,
        phone=_phone(number, dice.whole(0, 2)) if dice.chance(0.95) else "",
        email=email,
        address=f"{dice.whole(1, 240)} {dice.pick(STREETS)}" if dice.chance(0.85) else "",
        kind="retail",
        fleet="",
        call=dice.pick(("Y", "Y", "Y", "yes", "", "N")),
        text=dice.pick(("Y", "Y", "", "N")),
        mail=dice.pick(("Y", "", "N")) if email else "",
        opt_out="Y" if dice.chance(0.04) else "",
        notes=dice.pick(NOTES),
    )
