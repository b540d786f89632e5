"""The compose file by the Compose Specification: keys, names, and what each service may do.

Keys and their meanings: the Compose Specification, "Services top-level element" and "Build".
"""

import re
from typing import Any

import pytest
import yaml

from tests.project.test_environment import _in_the_table, _read_by
from tests.serving.installation import ROOT

FILE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
TEXT = (ROOT / "docker-compose.yml").read_text()
SERVICES: dict[str, dict[str, Any]] = FILE["services"]
PRODUCT = ("migrate", "web", "web-2", "worker", "drill")
# Run once, as the owner of the database.
ONCE = ("migrate", "drill")
# Of the specification, those that this file uses.
TOP = {"name", "services", "volumes"}
KEYS = {
    "build", "cap_add", "cap_drop", "command", "depends_on", "environment", "healthcheck",
    "image", "logging", "mem_limit", "ports", "profiles", "read_only", "restart",
    "security_opt", "shm_size", "stop_grace_period", "tmpfs", "user", "volumes",
}  # fmt: skip
CONDITIONS = {"service_started", "service_healthy", "service_completed_successfully"}
OF_DATABASE = {"CHOWN", "DAC_OVERRIDE", "FOWNER", "SETGID", "SETUID"}
# Variables of the compose file itself, which the README explains beside it.
OF_COMPOSE = {
    "SITE", "POSTGRES_PASSWORD", "SERVING_PASSWORD", "ANCHOR_FOLDER", "BACKUP_FOLDER",
}  # fmt: skip
# The Caddyfile's own, and what programs in the images read.
OF_OTHERS = {
    "SITE", "UPSTREAMS", "HTTP_PORT", "HTTPS_PORT", "XDG_DATA_HOME", "XDG_CONFIG_HOME",
    "AUTHORITY", "SERVING_PASSWORD", "TMPDIR",
}  # fmt: skip


def test_it_uses_keys_of_the_specification_only() -> None:
    assert {key for key in FILE if not key.startswith("x-")} == TOP
    for name, service in SERVICES.items():
        assert set(service) <= KEYS, name
        assert "image" in service
        assert ("build" in service) is (name in {"migrate", "proxy"})
        for after, how in service.get("depends_on", {}).items():
            assert after in SERVICES
            assert how["condition"] in CONDITIONS
            if how["condition"] == "service_healthy":
                assert "healthcheck" in SERVICES[after], after


def test_two_web_services_of_one_kind_a_worker_and_a_proxy() -> None:
    started = {name for name, service in SERVICES.items() if "profiles" not in service}
    assert started == {"database", "migrate", "web", "web-2", "worker", "proxy"}
    assert SERVICES["web"] == SERVICES["web-2"]
    assert "ports" not in SERVICES["web"]  # only the proxy is reached from outside
    assert SERVICES["worker"]["command"] == ["python", "manage.py", "worker"]
    assert SERVICES["proxy"]["environment"]["UPSTREAMS"].split() == ["web:8000", "web-2:8000"]
    assert SERVICES["proxy"]["ports"] == ["80:8080", "443:8443"]
    for name in ("web", "web-2", "worker"):
        migrated = SERVICES[name]["depends_on"]["migrate"]["condition"]
        assert migrated == "service_completed_successfully"


@pytest.mark.parametrize("name", sorted(SERVICES))
def test_each_service_has_as_few_rights_as_it_needs(name: str) -> None:
    service = SERVICES[name]

    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert re.fullmatch(r"\d+[mg]", service["mem_limit"])
    assert set(service["logging"]["options"]) == {"max-size", "max-file"}
    if name == "database":  # gives its folder to its own account, then runs as that
        assert set(service["cap_add"]) == {
            "CHOWN",
            "DAC_OVERRIDE",
            "FOWNER",
            "SETGID",
            "SETUID",
        }
        return
    assert "cap_add" not in service
    assert service["user"] == "1000:1000"
    assert service["read_only"] is True
    assert service["tmpfs"][0].startswith("/tmp:")  # noqa: S108
    assert service["restart"] == ("no" if name in ONCE else "unless-stopped")
    if name not in ONCE:
        assert name == "worker" or service["healthcheck"]["test"][0] == "CMD"


def test_every_folder_that_is_written_is_a_declared_volume() -> None:
    used = {
        entry.split(":")[0]
        for service in SERVICES.values()
        for entry in service.get("volumes", [])
        if not entry.startswith("${")
    }
    used |= set(re.findall(r"- \$\{\w+_FOLDER:-(\w+)\}", TEXT))

    assert used == set(FILE["volumes"])
    image = SERVICES["migrate"]["build"]["dockerfile_inline"]
    for folder in re.findall(r"/srv/salon/(var/\w+)$", TEXT, re.MULTILINE):
        made = image.index(folder)
        assert made < image.index("chown -R 1000:1000 var") < image.index(f'/{folder}"')
    # The proxy's keys are nobody else's.
    assert [n for n, s in SERVICES.items() if "authority" in str(s.get("volumes"))] == ["proxy"]


def test_the_serving_account_serves_and_the_owner_only_migrates() -> None:
    for name in PRODUCT:
        address = SERVICES[name]["environment"]["DATABASE_URL"]
        assert ("//salon:" in address) is (name in ONCE)
        assert ("//salon_web:" in address) is (name not in ONCE)


def test_a_drill_has_the_photos_and_room_for_a_backup() -> None:
    drill = SERVICES["drill"]

    assert drill["volumes"] == SERVICES["web"]["volumes"]
    assert any(
        entry.endswith(f":{drill['environment']['TMPDIR']}") for entry in drill["volumes"]
    )
    assert drill["command"] == ["python", "manage.py", "drill"]
    assert "docker compose run --rm drill" in (ROOT / "README.md").read_text()


def test_variables_are_read_by_somebody_and_explained() -> None:
    read = _read_by(ROOT / "salon/settings.py") | _read_by(ROOT / "salon/gunicorn.py")
    for name in (*PRODUCT, "proxy"):
        assert set(SERVICES[name]["environment"]) <= read | OF_OTHERS, name
    asked = set(re.findall(r"\$\{([A-Z_]+)", TEXT))
    readme = (ROOT / "README.md").read_text()

    assert asked <= _in_the_table() | OF_COMPOSE
    for name in OF_COMPOSE:
        assert f"{name}=" in readme or f"`{name}`" in readme, name
    caddyfile = (ROOT / "salon/tools/Caddyfile").read_text()
    for name in re.findall(r"\{\$([A-Z_]+)", caddyfile):
        assert name in SERVICES["proxy"]["environment"], name


def test_the_image_brings_the_pg_dump_of_the_databases_major_version() -> None:
    """PostgreSQL's manual, pg_dump, Notes: it refuses a server newer than its own major.

    Which client a Debian has: packages.debian.org, postgresql-client.
    """
    of_debian = {"bookworm": "15", "trixie": "17"}
    image = SERVICES["migrate"]["build"]["dockerfile_inline"]
    (client,) = re.findall(r"\bpostgresql-client-(\d+)\b", image)
    (debian,) = re.findall(r"^FROM python:[\d.]+-slim-(\w+)$", image, re.MULTILINE)
    (server,) = re.findall(r"^postgres:(\d+)(?:-|$)", SERVICES["database"]["image"])

    assert client == server == of_debian[debian]
    for name in ("web", "web-2", "worker"):
        folder = SERVICES[name]["environment"]["BACKUP_DIR"]
        assert any(entry.endswith(f":{folder}") for entry in SERVICES[name]["volumes"])


def test_the_image_has_what_the_makefile_installs() -> None:
    """One list of Debian packages for this machine and for the image."""
    packages = re.findall(
        r"^RUN_PACKAGES := (.*)$", (ROOT / "Makefile").read_text(), re.MULTILINE
    )[0]
    image = SERVICES["migrate"]["build"]["dockerfile_inline"]

    assert set(packages.split()) <= set(image.split())
    assert "USER 1000:1000" in image
    assert "--require-hashes" in image
