"""Which entries of ``platforms.yaml`` speak of a vehicle or group, and what they say together."""

from __future__ import annotations

from collections.abc import Sequence

from riskcheck.rulebook.model import Platform, Scalar


def matching(platforms: Sequence[Platform], name: tuple[str, str, str], year: int | None) -> int:
    """Position of the most specific entry that covers such a vehicle, or -1.

    ``name`` is (make, model, engine).  An entry that names the engine beats one that does not;
    without a year an entry matches only if it is the only one of that name.
    """
    return (covering(platforms, name, year) or [-1])[0]


def covering(
    platforms: Sequence[Platform], name: tuple[str, str, str], year: int | None
) -> list[int]:
    """Positions of all entries that cover such a vehicle, those that name the engine first."""
    same = [
        position
        for position, platform in enumerate(platforms)
        if _is_of(platform, name) and (year is None or _spans(platform, year, year))
    ]
    if year is None:
        return same if len(same) == 1 else []
    return sorted(same, key=lambda position: platforms[position].engine is None)


def known_features(
    platforms: Sequence[Platform], name: tuple[str, str, str], years: tuple[int | None, int | None]
) -> dict[str, Scalar]:
    """All that the entries say which cover every vehicle of that name and those years.

    ``name`` is (make, model, engine).  Without years only an entry that is alone of that name
    speaks.
    """
    first, last = years
    if first is None or last is None:
        at = matching(platforms, name, None)
        return dict(platforms[at].features) if at >= 0 else {}
    whole = [p for p in platforms if _is_of(p, name) and _spans(p, first, last)]
    return {feature: value for p in whole for feature, value in p.features.items()}


def _is_of(platform: Platform, name: tuple[str, str, str]) -> bool:
    """Whether all vehicles of (make, model, engine) are of the entry's name."""
    make, model, engine = (part.casefold() for part in name)
    return (platform.make.casefold(), platform.model.casefold()) == (make, model) and (
        platform.engine is None or platform.engine.casefold() == engine
    )


def _spans(platform: Platform, first: int, last: int) -> bool:
    return platform.years[0] <= first and last <= platform.years[1]
