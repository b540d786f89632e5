"""Every refusal of a service has one base, a code, and values that are filled in when shown."""

import ast
import importlib
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from salon.refusals import Refused, Stale

ROOT = Path(__file__).parents[2]
APPS = ("salon", "formulas", "clients", "consult")


class TooHeavy(Refused):
    pass


def _modules() -> Iterator[tuple[Path, ast.Module]]:
    for app in APPS:
        for path in sorted((ROOT / app).rglob("*.py")):
            if not {"migrations", "engine", "tools"} & set(path.parts):
                yield path, ast.parse(path.read_text())


def _raised() -> Iterator[tuple[str, ast.Call]]:
    """Yield what each service and view raises, with the name of its class."""
    for _path, tree in _modules():
        for node in ast.walk(tree):
            if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
                yield ast.unparse(node.exc.func).split(".")[-1], node.exc


def _kinds() -> dict[str, type[Refused]]:
    for app in APPS:
        for path in (ROOT / app / "services").glob("*.py"):
            importlib.import_module(f"{app}.services.{path.stem}".removesuffix(".__init__"))
    importlib.import_module("salon.urls")
    found, wanted = {}, [Refused]
    while wanted:
        kind = wanted.pop()
        found[kind.__name__] = kind
        wanted += kind.__subclasses__()
    return found


def test_what_a_service_refuses_with_has_one_base() -> None:
    kinds = set(_kinds())
    elsewhere = {
        node.name
        for path, tree in _modules()
        if "services" in (*path.parts, path.stem)
        for node in tree.body
        if isinstance(node, ast.ClassDef)
        and any(ast.unparse(base) in {"Exception", "ValueError"} for base in node.bases)
    }

    assert elsewhere == set()
    assert {"StockRefused", "BookingRefused", "StaleVisit", "MixingRefused"} <= kinds


def test_a_class_that_refuses_for_several_reasons_tells_them_apart() -> None:
    kinds = set(_kinds())
    sentences: dict[str, dict[str, str]] = defaultdict(dict)
    for name, call in _raised():
        if name in kinds and call.args:
            given = {keyword.arg: ast.unparse(keyword.value) for keyword in call.keywords}
            sentences[name].setdefault(ast.unparse(call.args[0]), given.get("code", ""))
    unnamed = {
        name
        for name, codes in sentences.items()
        if len(codes) > 1 and "" in codes.values() and name not in {"Refused", "ShelfTooEmpty"}
    }

    assert unnamed == set()


def test_values_are_given_apart_from_the_sentence() -> None:
    kinds = set(_kinds())
    ready = {
        ast.unparse(call)
        for name, call in _raised()
        if name in kinds and call.args and isinstance(call.args[0], ast.BinOp)
        if isinstance(call.args[0].op, ast.Mod) and ast.unparse(call.args[0].right) != "{}"
    }

    assert ready == set()


def test_a_refusal_says_its_sentence_with_its_values_and_is_passed_on_whole() -> None:
    refusal = TooHeavy("At most %(most)d g.", code="heavy", most=900)

    again = Stale.of(refusal)

    assert str(refusal) == str(again) == "At most 900 g."
    assert (again.code, again.values, again.status) == ("heavy", {"most": 900}, 409)


@pytest.mark.parametrize("sentence", ["12 % is the limit.", ""])
def test_without_values_a_sentence_stays_as_it_is(sentence: str) -> None:
    refusal = TooHeavy(sentence)

    assert str(refusal) == sentence
    assert refusal.code == "too_heavy"
