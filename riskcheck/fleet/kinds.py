"""What a kind of sheet is made of: its fields, their headings, and what marks it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Field:
    """One field: its name and the headings that mean it; ``many`` may join several columns."""

    name: str
    words: tuple[str, ...]
    many: bool = False


@dataclass(frozen=True)
class SheetKind:
    """One kind of sheet: its fields and what it cannot do without.

    ``marks`` are groups of fields; a sheet is of this kind only if each group has a member.
    """

    name: str
    says: str
    fields: tuple[Field, ...]
    marks: tuple[tuple[str, ...], ...]


def field(name: str, words: str, many: bool = False) -> Field:
    """A field from its headings in one comma-separated line; its own name is one of them."""
    listed = [word.strip() for word in words.split(",")]
    return Field(name, tuple(dict.fromkeys([name.replace("_", " "), *listed])), many)


REFERENCES = (
    field(
        "vehicle_id",
        "vehicle,veh,veh id,vehicle no,vehicle number,veh no,vehicle code,asset,asset id,asset no,"
        "asset number,fleet no,fleet number,fleet id,equipment,equipment id,equipment no,"
        "equip id,equip no,car id,truck id,machine,machine id,vehicle ref",
    ),
    field("unit", "unit no,unit number,unit id,bus no,truck no,van no,bus,truck,stock no"),
    field(
        "vin",
        "vin no,vin number,vehicle identification number,chassis no,chassis number,full vin,"
        "vin 17,vin code,serial no,serial number",
    ),
    field(
        "plate",
        "license plate,licence plate,plate no,plate number,license,licence,license no,lic plate,"
        "tag,tag no,reg,reg no,registration,registration no,registration number,rego,lic no",
    ),
)
