"""The base of every "no" that a service gives to the person at the screen."""

import re
from typing import Any, ClassVar, Self


class Refused(Exception):
    """Raised with a sentence that says what is in the way.

    `code` names the rule for programs and tests; a class that refuses for one reason needs no
    other than its own name. `values` are put into the sentence when it is shown.
    """

    status: ClassVar[int] = 422
    field: ClassVar[str | None] = None  # of the form, where the sentence belongs to one
    is_worded_by_page: ClassVar[bool] = False  # whether the page words it itself, with changes

    def __init__(self, sentence: str = "", *, code: str = "", **values: Any) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.code = code or re.sub(r"\B(?=[A-Z])", "_", type(self).__name__).lower()
        self.values = values

    @classmethod
    def of(cls, refusal: "Refused") -> Self:
        """Return the same refusal as one of this kind."""
        return cls(refusal.sentence, code=refusal.code, **refusal.values)

    def __str__(self) -> str:
        return self.sentence % self.values if self.values else self.sentence


class Stale(Refused):
    """Raised where someone else changed the record since the form was opened."""

    status = 409
