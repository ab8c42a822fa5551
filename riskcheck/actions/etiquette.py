"""What may be written into a call sheet: results of a contact or a look, and next steps.

Codes are kept in the ledger; the words are what a person picks from the drop-down.
"""

from __future__ import annotations

from collections.abc import Mapping

CONTACT_RESULTS: Mapping[str, str] = {
    "booked": "booked",
    "call_back": "will call back",
    "message_left": "left a message",
    "sent": "sent",
    "no_answer": "no answer",
    "declined": "said no for now",
    "declined_signed": "said no and signed",
    "done_elsewhere": "done elsewhere",
    "sold": "vehicle sold or gone",
    "wrong_number": "wrong number",
    "opt_out": "asked for no more calls",
}
# What the bay saw; only these teach the numbers.
BAY_RESULTS: Mapping[str, str] = {
    "found": "looked: found",
    "not_found": "looked: not found",
    "other": "looked: something else",
    "failed": "it had failed",
}
RESULTS: Mapping[str, str] = {**CONTACT_RESULTS, **BAY_RESULTS}
NEXT_STEPS: Mapping[str, str] = {
    "call_again": "call again",
    "text": "send a text",
    "email": "send an e-mail",
    "letter": "send a letter",
    "estimate": "write the estimate",
    "parts": "order parts",
    "ticket": "put it on the ticket",
    "ask_owner": "ask the boss",
    "nothing": "nothing more",
}
DECLINED = frozenset({"declined", "declined_signed"})
# A result after which this reason is not raised again by itself.
ENDS_TALK = frozenset({"sold", "wrong_number", "opt_out", "done_elsewhere"})


def code_of(words: str, listed: Mapping[str, str]) -> str:
    """The code of a drop-down entry, whatever its case or spacing; "" if it is none of them."""
    said = " ".join(words.split()).casefold()
    for code, shown in listed.items():
        if said in (shown.casefold(), code):
            return code
    return ""
