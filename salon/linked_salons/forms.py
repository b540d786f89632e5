"""What proves two accounts, as it is typed; nothing here compares it."""

from django import forms
from django.utils.translation import gettext_lazy

from salon.tablet.forms import CodeField, PasswordField


class LinkForm(forms.Form):
    """One's password here; name, password and code of the account there."""

    use_required_attribute = False
    own = PasswordField()
    username = forms.CharField(
        label=gettext_lazy("User name there"),
        max_length=60,
        widget=forms.TextInput({"autocomplete": "off", "autocapitalize": "none", "dir": "ltr"}),
    )
    password = PasswordField()
    code = CodeField(
        either=True,
        required=False,
        label=gettext_lazy("Code there"),
        help_text=gettext_lazy(
            "Only where that account has a second factor: six digits of its app, or one of its"
            " recovery codes."
        ),
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["own"].label = gettext_lazy("Your password here")
        self.fields["password"].label = gettext_lazy("Password there")
        self.fields["password"].widget.attrs["autocomplete"] = "off"
