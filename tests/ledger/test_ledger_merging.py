"""Properties of the merge, over any history of copies (checked by search, not by example).

The reference here is plain: the set of all words ever typed into a cell.
"""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from riskcheck.ledger.merging import Entry, incoming, of_copy, standing

COPIES = st.sampled_from(["one", "two", "three"])
WORDS = st.sampled_from(["booked", "no", "left word", "left word, called", " ", ""])
SAID = st.lists(st.tuples(COPIES, st.sets(WORDS, max_size=2)), max_size=8)


def played(said: list[tuple[str, set[str]]]) -> list[Entry]:
    """The history after each copy said its words, one recording each."""
    history: list[Entry] = []
    for number, (copy, words) in enumerate(said):
        history += [Entry(number, copy, v) for v in incoming(history, copy, words).add]
    return history


@given(SAID)
def test_nothing_typed_is_ever_lost(said):
    typed = {word for _, words in said for word in words if word.strip()}
    assert {entry.value for entry in played(said)} == typed


@given(SAID)
def test_saying_the_last_thing_again_adds_nothing(said):
    history = played(said)
    for copy, words in said[-1:]:
        again = incoming(history, copy, words)
        assert again.add == ()
        assert again.kind == "same"


@given(SAID)
def test_what_stands_was_typed_and_a_blank_never_clears_it(said):
    history = played(said)
    stands = standing(history)
    assert set(stands) <= {entry.value for entry in history}
    assert bool(stands) == bool(history)
    for copy in ("one", "two", "three"):
        assert incoming(history, copy, ["", " "]).add == ()


@given(st.sets(WORDS, min_size=1, max_size=2), st.sets(WORDS, min_size=1, max_size=2))
def test_two_fresh_copies_merge_alike_in_either_order(one, two):
    forth = standing(played([("one", one), ("two", two)]))
    back = standing(played([("two", two), ("one", one)]))
    assert set(forth) == set(back)


@given(SAID, COPIES, WORDS)
def test_the_words_of_a_copy_that_wrote_on_are_what_it_says_now(said, copy, word):
    history = played(said)
    if of_copy(history, copy) and word.strip():
        after = [*history, *(Entry(99, copy, v) for v in incoming(history, copy, [word]).add)]
        assert of_copy(after, copy) == (word,)
