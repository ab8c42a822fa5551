"""Words that make a part another machine's: "lift hose" is no brake hose.

A shop writes "both hoses" for a brake job and "both lift hoses" for a lift.  A word directly
before a part's name that is neither the part's own, nor a position, side, number, grade or
condition, names what the part belongs to; then nothing was said of the vehicle's own part.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from riskcheck.fleet.lexicon_model import Wording
from riskcheck.fleet.lexicon_tokens import Token
from riskcheck.fleet.lexicon_verdicts import JOINERS, Named

_PASSED = ("good", "bad", "one", "all", "used", "only", "still")  # conditions and quantities
_NOUNS = ("other_part", "beside")  # signals that are names of things, not of deeds
_BELONGS = frozenset({"for", "of", "to"})
_STANDS = frozenset({"on", "in", "at", "from", "off"})
_SHOP_LIFTS = frozenset({"lift", "ramp", "jack"})  # "brake hoses checked on lift"


@dataclass(frozen=True, slots=True)
class Strangers:
    """Tells names of the vehicle's parts from like-named parts of other machines.

    ``passing``: words that may stand before any part; ``stopping``: words before which no name
    reaches back; ``bare``: nouns that many machines share and that alone name no part;
    ``places``: parts that also say where another part sits; ``machines``: words for other
    machines and for equipment; ``look_alikes``: subjects that name no part of interest.
    """

    passing: frozenset[str]
    stopping: frozenset[str]
    bare: frozenset[str]
    places: frozenset[str]
    machines: frozenset[str]
    look_alikes: frozenset[str]

    @classmethod
    def of(cls, wording: Wording, look_alikes: Collection[str]) -> Strangers:
        """From the qualifiers and signals of one wording."""
        said = {
            name: {words[0] for words in map(wording.spelled, map(str.split, phrases))
                   if len(words) == 1}
            for name, phrases in wording.signals.items()
        }  # fmt: skip
        passed = set().union(*(said.get(name, set()) for name in _PASSED))
        deeds = set().union(*(words for name, words in said.items() if name not in _NOUNS))
        listed = {name: frozenset(wording.spelled(each)) for name, each in wording.around.items()}
        machines = listed.get("machines", frozenset())
        passing = (passed | listed.get("passing", frozenset())) - machines
        stopping = (deeds | JOINERS | listed.get("stopping", frozenset())) - machines
        return cls(
            passing=frozenset(passing),
            stopping=frozenset(stopping - passing),
            bare=listed.get("bare", frozenset()),
            places=listed.get("places", frozenset()),
            machines=machines,
            look_alikes=frozenset(look_alikes),
        )

    def own(self, tokens: Sequence[Token], found: Sequence[Named]) -> list[Named]:
        """Those of ``found`` that name parts of the vehicle itself; look-alikes all stay."""
        return [
            replace(each, bare=self.is_bare(tokens, each.places))
            for each in found
            if each.subject in self.look_alikes or not self._foreign(tokens, each, found)
        ]

    def is_bare(self, tokens: Sequence[Token], places: Collection[int]) -> bool:
        """Whether the words at ``places`` alone do not say whose part it is."""
        words = {tokens[place].word for place in places}
        return words <= self.bare | self.passing | self.stopping

    def speaks_of_machines(self, tokens: Sequence[Token], named: Sequence[Named]) -> bool:
        """Whether a word outside the vehicle's own parts is one for another machine."""
        return any(self._machines_at(tokens, named))

    def _machines_at(self, tokens: Sequence[Token], found: Sequence[Named]) -> list[bool]:
        """Which tokens name another machine; "lift" of a fuel system's lift pump does not."""
        own = {
            place for each in found if each.subject not in self.look_alikes for place in each.places
        }
        return [
            token.word in self.machines and place not in own for place, token in enumerate(tokens)
        ]

    def _foreign(self, tokens: Sequence[Token], named: Named, found: Sequence[Named]) -> bool:
        if self._is_a_place(tokens, named.places):
            return True
        machines = self._machines_at(tokens, found)
        rest = [each for each in found if each.places - named.places]
        listed = {
            place
            for place in (max(each.places) for each in rest)
            if tokens[place].text.endswith("s")
        }
        if self.is_bare(tokens, named.places):
            heads = [place for place in named.places if tokens[place].word in self.bare]
            ends = {max(each.places) for each in rest}
            return any(machines) or any(
                self._qualified(tokens, place, named, listed, ends) for place in heads
            )
        return any(
            self._machine_before(tokens, place, machines, listed) for place in named.places
        ) or self._belongs_to_machine(tokens, max(named.places) + 1, machines)

    def _is_a_place(self, tokens: Sequence[Token], own: Collection[int]) -> bool:
        """Whether the words only say where something sits ("on the front axle", "axle hoses")."""
        words = {tokens[place].word for place in own}
        if words.isdisjoint(self.places) or not words <= self.places | self.passing:
            return False
        place = next(place for place in sorted(own) if tokens[place].word in self.places)
        behind = tokens[place + 1] if place + 1 < len(tokens) else None
        if behind is not None and behind.kind == "word":
            noun = behind.word not in self.passing | self.stopping
            if noun and behind.word not in ("assembly", "assy"):
                return True
        for at in range(place - 1, -1, -1):
            if tokens[at].text in _BELONGS | _STANDS:
                return True
            if tokens[at].kind != "num" and tokens[at].word not in self.passing:
                return False
        return False

    def _qualified(
        self,
        tokens: Sequence[Token],
        place: int,
        named: Named,
        listed: Collection[int],
        ends: Collection[int],
    ) -> bool:
        """Whether a word before ``place`` says that the noun there belongs to something else.

        ``listed``: where other parts end in the plural; ``ends``: where any other part ends.
        """
        parted = False
        for at in range(place - 1, -1, -1):
            token = tokens[at]
            if token.kind == "num" or token.word in self.passing or _is_code(token.text):
                parted = parted or token.text == "new"
                continue
            if at in named.places or token.kind == "sign" or token.word in self.stopping:
                return False
            return not (at in listed or (parted and at in ends))
        return False

    def _machine_before(
        self,
        tokens: Sequence[Token],
        place: int,
        machines: Sequence[bool],
        listed: Collection[int],
    ) -> bool:
        """Whether another machine stands in the words before ``place`` that qualify it."""
        for at in range(place - 1, -1, -1):
            token = tokens[at]
            if machines[at]:
                return True
            if token.kind == "sign" or token.word in self.stopping or at in listed:
                return False
        return False

    def _belongs_to_machine(
        self, tokens: Sequence[Token], after: int, machines: Sequence[bool]
    ) -> bool:
        """Whether "for", "on" or the like and a machine follow; a shop's own lift is none."""
        joint = -1
        for at in range(after, len(tokens)):
            token = tokens[at]
            if token.text in _BELONGS or (token.text in _STANDS and joint < 0):
                joint = at
            elif machines[at] and joint >= 0:
                between = {each.text for each in tokens[joint + 1 : at]} - {"the"}
                stands = tokens[joint].text in _STANDS and token.word in _SHOP_LIFTS
                return bool(between) or not stands
        return False


def _is_code(text: str) -> bool:
    """Fault codes and unit numbers ("p0016", "b12") qualify nothing."""
    return any(sign.isdigit() for sign in text)
