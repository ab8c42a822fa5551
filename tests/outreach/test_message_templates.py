"""Templates a shop may edit: they can read what they are given, and may not claim too much."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskcheck.errors import RulebookError
from riskcheck.reports.message_templates import KINDS, SHIPPED, Templates, marked_lines

CONTEXT = {
    "call": 1, "customer": "Will Fail", "greeting": "Will Fail", "phone": "+14065550100",
    "email": "", "address": "",
    "notes": "", "last_contact": "", "did_they_come": "", "declined": "",
    "voicemail": True, "changed": "",
    "voicemail_only": False, "me": "Dana",
    "shop": {"name": "A", "phone": "B", "address": "C", "email": "D"}, "as_of": "2026-10-01",
    "lead": {"vehicle": "V1", "vehicle_short": "your V1", "hazard": "h", "why": "w", "ask": "a?",
             "say": "about 4 of 100 (1 to 9)"},
    "offers": ["one", "two"], "also": [], "no_later_than": "", "how_soon": "", "counsel": "",
}  # fmt: skip


def own(folder: Path, **files: str) -> Templates:
    for kind, text in files.items():
        (folder / f"{kind}.txt.j2").write_text(text, encoding="utf-8")
    return Templates([folder])


@pytest.mark.parametrize("kind", KINDS)
def test_the_shipped_templates_give_calm_text(kind: str) -> None:
    message = Templates().render(kind, CONTEXT, ["Will Fail"])
    assert message.flaws == ()
    assert message.text.strip()
    assert "\x01" not in message.text


def test_a_shop_layers_its_own_template_over_ours(tmp_path: Path) -> None:
    templates = own(tmp_path, text="Hi {{ customer }}")
    assert templates.render("text", CONTEXT, ["Will Fail"]).text == "Hi Will Fail\n"
    assert "Hello Will Fail" in templates.render("email", CONTEXT, ["Will Fail"]).text


@pytest.mark.parametrize(
    ("template", "line", "word"),
    [
        ("Hello\n\nYour brakes will fail soon.", 3, "will fail"),
        ("{% if call %}\nthere is a recall\n{% endif %}", 2, "recall"),
        ("{{ lead.say }}\n5 of 100 break", 2, "5 of 100"),
        ("{{ customer }\n}", 1, "unexpected"),
        ("a\n{% for x in offers %}\n", 2, "end of template"),
    ],
)
def test_a_template_at_fault_is_refused_with_file_and_line(
    tmp_path: Path, template: str, line: int, word: str
) -> None:
    with pytest.raises(RulebookError) as refused:
        own(tmp_path, letter=template)
    assert f"letter.txt.j2:{line}: " in refused.value.faults[0]
    assert word in refused.value.faults[0]


@pytest.mark.parametrize(
    "template",
    [
        "{{ ''.__class__.__mro__ }}",
        "{{ shop.__init__.__globals__ }}",
        "{{ customer.format.__globals__ }}",
        "{{ '{0.__class__}'.format(call) }}{{ nothing }}",
        "{% include '/etc/passwd' %}",
        "{% include '../secret.txt' %}",
        "{{ unheard_of }}",
        "{{ lead.unheard_of }}",
        "{% for i in range(10**9) %}x{% endfor %}",
        "{% for i in range(99999) %}x{% endfor %}",
        "{{ 1 // 0 }}",
    ],
)
def test_a_template_cannot_reach_out_or_run_away(tmp_path: Path, template: str) -> None:
    (tmp_path.parent / "secret.txt").write_text("secret", encoding="utf-8")
    templates = own(tmp_path, letter=f"one\n{template}")
    with pytest.raises(RulebookError) as refused:
        templates.render("letter", CONTEXT)
    assert "letter.txt.j2" in refused.value.faults[0]


def test_a_finished_text_that_claims_too_much_names_its_template_line(tmp_path: Path) -> None:
    """The claim comes from what is filled in; the line is that of the template, not the text's."""
    templates = own(
        tmp_path,
        letter="{% for offer in offers %}\n- {{ offer }}\n{% endfor %}\n\n"
        "{{ lead.say }} or {{ lead.why }}",
    )
    context = CONTEXT | {
        "offers": ["one", "two", "it will break"],
        "lead": {**CONTEXT["lead"], "why": "2 of 1,000"},  # type: ignore[dict-item]
    }
    flaws = templates.render("letter", context).flaws
    assert [(flaw.file, flaw.line) for flaw in flaws] == [("letter.txt.j2", n) for n in (2, 5, 5)]
    assert "will break" in flaws[0].words
    assert "denominator" in flaws[1].words


@pytest.mark.parametrize("path", sorted(SHIPPED.glob("*.j2")), ids=lambda path: path.name)
def test_marks_never_change_a_template(path: Path) -> None:
    import re

    source = path.read_text(encoding="utf-8")
    assert re.sub("\x01[^\x02]*\x02", "", marked_lines(source, path.name)) == source


@pytest.mark.parametrize(
    ("change", "there", "missing"),
    [({}, "If voicemail", "No call"), ({"voicemail": False}, "No call", "voicemail"),
     ({"declined": "Declined 2025-03-01, signed."}, "FIRST   Declined 2025-03-01, signed.", "No ")],
)  # fmt: skip
def test_the_script_opens_with_what_is_on_file(
    change: dict[str, object], there: str, missing: str
) -> None:
    text = Templates([]).render("script", {**CONTEXT, **change}, []).text
    assert there in text
    assert missing not in text
    if "declined" in change:
        assert text.index("FIRST") < text.index("ASK")
