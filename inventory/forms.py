"""What can be filled in on the pages of the lower house."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from inventory import maker_labels
from inventory.codes.errors import CodeError
from inventory.codes.serials import look_up_key
from inventory.listed import ListedField
from inventory.models import Item, ItemCode, Person, Place, ReturnRule, Role
from inventory.overviews import our_places
from inventory.password_forms import HELP, PasswordField
from inventory.plain_forms import PlainForm, PlainModelForm, WholeField


class ItemForm(PlainModelForm):
    """A new item; how it is followed and what is counted stay as they are for ever."""

    class Meta:
        model = Item
        fields = ("code", "name", "tracking", "unit", "mass_g")
        field_classes = {"mass_g": WholeField}
        labels = {
            "code": "Code",
            "name": "Name",
            "tracking": "How it is followed",
            "unit": "Counted in",
            "mass_g": "Weight in grams",
        }
        help_texts = {
            "code": "Short, as people say it on the phone. It cannot be changed.",
            "tracking": "Cannot be changed later.",
            "unit": "Cannot be changed later.",
            "mass_g": "Of one piece; of one metre for what is cut from a reel. 0 if not known.",
        }

    def clean(self) -> dict[str, Any]:
        """Things with serials are counted in pieces."""
        cleaned: dict[str, Any] = super().clean() or {}
        if cleaned.get("tracking") == "serial" and cleaned.get("unit") != "piece":
            self.add_error("unit", "Counted in: expected pieces for a thing with a serial")
        return cleaned


class ItemChangeForm(PlainModelForm):
    """What may change about an item."""

    class Meta:
        model = Item
        fields = ("name", "mass_g", "opened_days", "cost", "cost_for")
        field_classes = dict.fromkeys(fields[1:], WholeField)
        labels = {
            "name": "Name",
            "mass_g": "Weight in grams",
            "opened_days": "Once opened it keeps how many days",
            "cost": "Cost in cents",
            "cost_for": "The cost is of how many",
        }
        help_texts = {
            "opened_days": "Sealant, resin. Empty: as long as its batch.",
            "cost": "0 if not known.",
            "cost_for": "Pieces, millimetres, microlitres: 100000 for a reel of 100 m.",
        }

    def clean_cost(self) -> int:
        """Left empty: not known."""
        return self.cleaned_data["cost"] or 0

    def clean_cost_for(self) -> int:
        """Left empty: of one."""
        return self.cleaned_data["cost_for"] or 1


class ItemCodeForm(PlainModelForm):
    """A code printed on things of an item."""

    class Meta:
        model = ItemCode
        fields = ("text", "pack_quantity")
        field_classes = {"pack_quantity": WholeField}
        labels = {"text": "Code as printed", "pack_quantity": "One scan stands for how many"}
        help_texts = {"text": "Scan it into this field, or type it."}

    def clean_text(self) -> str:
        """The code's normal form is not taken by another item."""
        text = str(self.cleaned_data["text"])
        if ItemCode.objects.filter(key=look_up_key(text)).exists():
            raise ValidationError(f"Code: expected one that is not taken, got {text[:60]!r}")
        return text


class MakerLabelForm(PlainForm):
    """How the maker's own label on things of an item looks."""

    pattern = forms.CharField(
        label="How the text looks",
        max_length=maker_labels.LONGEST,
        help_text="As XM{serial:d8}: XM, then 8 digits that are the serial. d is a digit, a a "
        "capital, n either, x any sign; n4-20 is 4 to 20 of them. Use {lot:...} for a batch and "
        "{_:...} for what is left out. A web address is a text like any other.",
    )
    symbology = forms.ChoiceField(
        label="Kind of code",
        required=False,
        choices=[("", "any"), *((name, name) for name in maker_labels.SYMBOLS)],
    )
    example = forms.CharField(
        label="One as printed", max_length=200, help_text="Scan one into this field to try it."
    )

    def __init__(self, data: Any, item: Item) -> None:
        """item: whose label it is."""
        super().__init__(data)
        self.item = item

    def clean(self) -> dict[str, Any]:
        """The pattern reads the example and means no other item."""
        found = super().clean() or {}
        if self.errors:
            return found
        try:
            self.found = maker_labels.checked(
                self.item, found["pattern"], found["symbology"], found["example"]
            )
        except CodeError as error:
            raise ValidationError(f"{error.message[:1].upper()}{error.message[1:]}.") from error
        there = maker_labels.taken(found["pattern"])
        if there is not None:
            raise ValidationError(
                f"Label: expected one that is not taken, got that of {there.item}"
            )
        return found


class ReturnRuleForm(PlainModelForm):
    """What is asked when an item comes back."""

    class Meta:
        model = ReturnRule
        fields = ("reading", "never_again")
        labels = {
            "reading": "What is read on it",
            "never_again": "Once opened it is not used again",
        }
        help_texts = {"reading": "As: charge in %. Empty: nothing is read."}


class PersonForm(PlainForm):
    """A new person."""

    username = forms.SlugField(
        label="Name to sign in with", max_length=60, help_text="Letters, digits, dashes."
    )
    name = forms.CharField(label="Name", max_length=120)
    roles = forms.MultipleChoiceField(
        label="May work as", choices=Role.choices, widget=forms.CheckboxSelectMultiple
    )
    password = PasswordField(label="First password", help_text=HELP)

    def clean_username(self) -> str:
        """Nobody has this name yet."""
        username = str(self.cleaned_data["username"])
        if Person.objects.filter(username=username).exists():
            raise ValidationError(f"Name: expected one that is not taken, got {username!r}")
        return username

    def clean_password(self) -> str:
        """Long enough, and not one that everybody tries."""
        password = str(self.cleaned_data["password"])
        known = {name: self.cleaned_data.get(name, "") for name in ("username", "name")}
        validate_password(password, Person(**known))
        return password


class PersonChangeForm(PlainForm):
    """What may change about a person; one who has left keeps the entry and loses the way in."""

    name = forms.CharField(label="Name", max_length=120)
    roles = forms.MultipleChoiceField(
        label="May work as",
        choices=Role.choices,
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    phone = forms.CharField(
        label="Telephone", max_length=40, required=False, help_text="For the call list of a recall."
    )
    is_active = forms.BooleanField(label="Works here and may sign in", required=False)


class PhotoForm(PlainForm):
    """A photo to be read."""

    photo = forms.FileField(label="Photo", help_text="JPEG, PNG or WebP.")


class ShelfPhotoForm(PhotoForm):
    """A photo of what stands at a place."""

    at = ListedField(
        Place.objects.none(),
        label="Taken of",
        help_text="The book is asked what should be there.",
        empty_label="not chosen yet",
    )
    field_order = ("at", "photo")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Offer the places of ours."""
        super().__init__(*args, **kwargs)
        self.fields["at"].queryset = our_places()  # type: ignore[attr-defined]

    @staticmethod
    def place_at(text: str) -> Place | None:
        """The place of ours that a sent code or a typed text means."""
        found: Place | None = ListedField(our_places(), required=False).meant(text)
        return found
