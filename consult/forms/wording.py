"""The salon's own words of what clients sign."""

from django import forms
from django.utils.translation import gettext_lazy as _

from consult.agreement import wordings


class WordingForm(forms.Form):
    """The statement with its named numbers, and what the client has understood."""

    number = forms.IntegerField(widget=forms.HiddenInput(), min_value=0)
    statement = forms.CharField(
        label=_("What the choice means"),
        max_length=1200,
        widget=forms.Textarea({"rows": 7}),
        help_text=_("Write numbers by their names in braces; see the list beside this box."),
    )
    understandings = forms.CharField(
        label=_("What the client confirms"),
        max_length=2400,
        widget=forms.Textarea({"rows": 10}),
        help_text=_("One sentence per line."),
    )

    def clean_statement(self) -> str:
        text: str = self.cleaned_data["statement"]
        problems = wordings.problems_of(text)
        if problems:
            raise forms.ValidationError(problems)
        return text

    def clean_understandings(self) -> str:
        text: str = self.cleaned_data["understandings"]
        if len(wordings.lines(text)) > wordings.MOST_UNDERSTANDINGS:
            raise forms.ValidationError(
                _("At most %(most)d sentences, so that it fits on one page."),
                params={"most": wordings.MOST_UNDERSTANDINGS},
            )
        return text
