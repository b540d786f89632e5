"""The audit of dependencies: a fault fails, and an unanswered question is no answer."""

import json
import subprocess

import pytest

from salon.tools import audit


def _answer(monkeypatch: pytest.MonkeyPatch, stdout: str, stderr: str = "") -> None:
    done = subprocess.CompletedProcess([], 1, stdout, stderr)
    monkeypatch.setattr(subprocess, "run", lambda *args, **kwargs: done)


def test_a_known_fault_fails(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fault = {"id": "PYSEC-2026-1", "fix_versions": ["2.1"], "aliases": []}
    dependencies = [
        {"name": "ada", "version": "2.0", "vulns": [fault]},
        {"name": "bel", "version": "1.0", "vulns": []},
    ]
    _answer(monkeypatch, json.dumps({"dependencies": dependencies}))

    assert audit.main() == 1
    said = capsys.readouterr().out
    assert "ada 2.0: PYSEC-2026-1, fixed in 2.1" in said
    assert "2 audited, 1 known faults" in said


def test_no_answer_is_said_and_does_not_fail(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _answer(monkeypatch, "", "ERROR: connection refused")

    assert audit.main() == 0
    assert "NOT audited" in capsys.readouterr().out
