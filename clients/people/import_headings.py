"""What the columns of a list are called, in English, German and the reader's language."""

import re

from django.utils.translation import gettext_lazy

from clients.models.client import searchable

FIELDS = {
    "name": gettext_lazy("name"),
    "first_name": gettext_lazy("first name (joined to the name)"),
    "known_as": gettext_lazy("known as"),
    "phone": gettext_lazy("phone"),
    "email": gettext_lazy("e-mail"),
    "birth_date": gettext_lazy("birth date"),
    "note": gettext_lazy("note for the desk"),
}
# Known whatever language the desk speaks: lists are written elsewhere. As `_bare` has them.
_ENGLISH = {
    "name": "name fullname lastname surname familyname client clientname customer customername",
    "first_name": "firstname givenname forename",
    "known_as": "knownas nickname preferredname calledname",
    "phone": "phone mobile telephone tel phonenumber mobilenumber telephonenumber mobilephone"
    " cell cellphone phoneno mobileno",
    "email": "email emailaddress mail mailaddress",
    "birth_date": "birthdate birthday dateofbirth dob born",
    "note": "note notes comment comments remark remarks",
}
_GERMAN = {
    "name": "name nachname familienname zuname vollstandigername kunde kundin kundenname",
    "first_name": "vorname",
    "known_as": "rufname spitzname genannt",
    "phone": "telefon telefonnummer telefonnr tel telnr handy handynummer handynr mobil"
    " mobilnummer mobilnr mobiltelefon mobilfunk rufnummer festnetz",
    "email": "email emailadresse mail mailadresse",
    "birth_date": "geburtsdatum geburtstag gebdatum gebtag geb geboren geborenam",
    "note": "notiz notizen bemerkung bemerkungen anmerkung anmerkungen kommentar hinweis",
}


def guess(header: list[str]) -> dict[str, str]:
    """Return what each column (by its number, as text) probably means.

    Whole headings first ("Telefon"), then headings with such a word in them ("Telefon 1").
    """
    known = _known()
    found: dict[str, str] = {}
    for words_of in (lambda title: [title], lambda title: re.split(r"[\W_]+", title)):
        for number, title in enumerate(header):
            meant = (known.get(_bare(word)) for word in words_of(title))
            field = next((name for name in meant if name and name not in found.values()), None)
            if field and str(number) not in found:
                found[str(number)] = field
    return dict(sorted(found.items(), key=lambda item: int(item[0])))


def _known() -> dict[str, str]:
    """Return the field that each known heading means."""
    known = {_bare(str(label)): name for name, label in FIELDS.items()}
    for titles in (_GERMAN, _ENGLISH):
        known |= {word: name for name, listed in titles.items() for word in listed.split()}
    return known


def _bare(title: str) -> str:
    return re.sub(r"[\W_]+", "", searchable(title))
