"""What can be filled in about a recall: the letter, its rule pasted or put together by fields."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.codes.recall_rule import RuleError, parse
from inventory.models import Partner
from inventory.naming import unknown_models
from inventory.plain_forms import PlainForm

HOW = (
    "One row each; all that stands in a row must be true. For example: model M5; prefix AB12. "
    "Or: range AB120000 to AB129999. Or: AB120001, AB120007. Or: lot 2241. "
    "Or: made 2026-01-05 to 2026-02-10"
)
LONGEST = 400_000  # characters of a rule


class RuleForm(PlainForm):
    """A rule: pasted, or a further row from fields."""

    rule = forms.CharField(
        label="What the letter names",
        max_length=LONGEST,
        required=False,
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"}),
        help_text=HOW,
    )
    model = forms.CharField(label="Item: code or article number", max_length=200, required=False)
    begins = forms.CharField(label="Serial begins with", max_length=200, required=False)
    first = forms.CharField(label="Serial from", max_length=90, required=False)
    last = forms.CharField(label="Serial to", max_length=90, required=False)
    lot = forms.CharField(label="Batch", max_length=200, required=False)
    made_from = forms.DateField(
        label="Made from", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    made_until = forms.DateField(
        label="Made until", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    FIELDS = ("model", "begins", "first", "last", "lot", "made_from", "made_until")

    def pasted(self) -> list[forms.BoundField]:
        """Fields that are always seen."""
        return [field for field in self if field.name not in self.FIELDS]

    def single(self) -> list[forms.BoundField]:
        """Fields that put a row together."""
        return [self[name] for name in self.FIELDS]

    def clean(self) -> dict[str, Any]:
        """The whole rule can be read, and names only items of ours."""
        cleaned: dict[str, Any] = super().clean() or {}
        rows = [str(cleaned.get("rule", "")).strip(), self._row(cleaned)]
        text = "\n".join(row for row in rows if row)
        try:
            for words in unknown_models(parse(text)):
                self.add_error("rule", words)
        except RuleError as error:
            for words in error.problems[:20]:
                self.add_error("rule", words)
        return {**cleaned, "rule": text}

    def _row(self, cleaned: dict[str, Any]) -> str:
        """Put the fields together as a row of the rule."""
        said = {name: cleaned.get(name) for name in self.FIELDS}
        words = (("model", "model"), ("begins", "prefix"), ("lot", "lot"))
        row = [f"{word} {said[name]}" for name, word in words if said[name]]
        if said["first"] or said["last"]:
            row.append(f"range {said['first'] or '?'} to {said['last'] or '?'}")
        if said["made_from"] and said["made_until"]:
            row.append(f"made {said['made_from']} to {said['made_until']}")
        elif said["made_from"] or said["made_until"]:
            word, day = ("from", "made_from") if said["made_from"] else ("until", "made_until")
            row.append(f"made {word} {said[day]}")
        return "; ".join(row)


class NoticeForm(RuleForm):
    """A letter that has come."""

    letter = forms.CharField(label="The letter's number or date", max_length=80)
    wrong = forms.CharField(
        label="What is wrong, in a few words",
        max_length=120,
        help_text="Read by everybody who is stopped: no names.",
    )
    partner = forms.ModelChoiceField(
        Partner.objects.all(), label="From", required=False, empty_label="somebody else"
    )
    note = forms.CharField(
        label="Note for the office",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Can be erased later.",
    )
    field_order = ("letter", "wrong", "rule", "partner", "note", *RuleForm.FIELDS)
