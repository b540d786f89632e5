"""Every form of the product, however odd what is posted to it."""

import datetime as dt
import traceback
from typing import Any

import pytest
from django import forms
from django.db import transaction
from django.http import QueryDict
from hypothesis import example, given
from hypothesis import strategies as st

from salon.models import Staff
from tests.factories.consult import Story, opened
from tests.fuzz.odd import QUICK, bent
from tests.fuzz.registry import build, every_form, files_for, good_values, parts_of

pytestmark = [pytest.mark.slow, pytest.mark.django_db]


@pytest.fixture
def story(stylist: Staff) -> Story:
    """A visit far enough on for every form to have what it needs."""
    at = dt.datetime(2026, 3, 11, 8, tzinfo=dt.UTC)
    return opened(stylist.salon, stylist=stylist, at=at).to_bench()


def _query(values: dict[str, list[str]]) -> QueryDict:
    query = QueryDict(mutable=True)
    for name, several in values.items():
        query.setlist(name, several)
    return query


def _draw(form: Any) -> None:
    """Draw it as a page does: every field with its errors, as bytes."""
    for part in parts_of(form):
        for field in part:
            field.as_field_group().encode()
    str(form.non_field_errors()).encode()


def _store(form: Any) -> None:
    """Write what a form of a record took in, over a row that is complete otherwise."""
    if not isinstance(form, forms.ModelForm) or not form._meta.fields:
        return
    row = form.instance if form.instance.pk else type(form.instance).objects.first()
    if row is None:
        return
    with transaction.atomic():
        values = {name: form.cleaned_data[name] for name in form._meta.fields}
        columns = {row._meta.get_field(name).attname: name for name in values}
        copy = type(row)(**{f.attname: getattr(row, f.attname) for f in row._meta.fields})
        copy.pk = None if hasattr(copy, "number") else row.pk  # an append-only one is added
        for name in columns.values():
            setattr(copy, name, values[name])
        if hasattr(copy, "number"):
            copy.number += 1
        copy.save()
        transaction.set_rollback(True)


def _fuzz(form_class: Any, story: Story) -> list[bool]:
    """Post odd values to one form; return whether each was valid."""
    good = good_values(form_class, story)
    outcomes: list[bool] = []

    @QUICK
    @example(good, True)
    @given(bent(good), st.booleans())
    def post(values: dict[str, list[str]], with_file: bool) -> None:
        files = files_for(form_class) if with_file else {}
        form = build(form_class, _query(values), files, story)
        outcomes.append(form.is_valid())
        _draw(form)
        if outcomes[-1]:
            _store(form)

    post()
    return outcomes


def test_no_form_falls_over_whatever_is_posted(story: Story) -> None:
    failures: dict[str, str] = {}
    never_valid = set()
    for name, form_class in every_form().items():
        try:
            if not any(_fuzz(form_class, story)):
                never_valid.add(name.rsplit(".", 1)[1])
        except Exception:
            failures[name] = traceback.format_exc()[-3000:]

    assert failures == {}, "\n\n".join(f"{name}\n{text}" for name, text in failures.items())
    # Else the odd values would never reach the checks behind the first.
    assert len(never_valid) <= len(every_form()) // 5, never_valid
