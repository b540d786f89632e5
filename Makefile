# Everything that a person or a machine does with this project, by name.
SHELL := /bin/sh
PYTHON ?= python3
VENV ?= .venv
PY := $(VENV)/bin/python
PORT ?= 8000
WORKERS ?= 2
export SALON_MODE ?= local

RUN_PACKAGES := libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-noto-core fonts-droid-fallback
TEST_PACKAGES := caddy chromium gettext openssl poppler-utils

WORDS := $(basename $(wildcard salon/locale/*/LC_MESSAGES/django.po))

.PHONY: rooms help demo kills serve upgrade-rehearsal test test-fast test-slow test-postgres test-browser coverage check format bench bench-pages screenshots words locks clean libraries browser

help: ## Say what there is
	@grep -E '^[a-z-]+:.*## ' Makefile | sed 's/:.*## /\t/'

$(PY):
	@$(PYTHON) -c 'import ensurepip' 2>/dev/null || sh salon/tools/debian.sh "virtual environments" python3-venv
	$(PYTHON) -m venv $(VENV)

$(VENV)/run.stamp: salon/requirements/run.txt | $(PY)
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r $<
	@touch $@

$(VENV)/dev.stamp: salon/requirements/dev.txt $(VENV)/run.stamp
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r $<
	@touch $@

libraries:
	@sh salon/tools/debian.sh "printed cards" $(RUN_PACKAGES)

browser:
	@sh salon/tools/debian.sh "browser tests" $(TEST_PACKAGES)

demo: $(VENV)/run.stamp libraries ## Start the invented salon on this machine
	@$(PY) manage.py migrate --verbosity 0
	@$(PY) manage.py demo --address "http://localhost:$(PORT)/"
	@$(VENV)/bin/gunicorn salon.wsgi -c salon/gunicorn.py --bind 127.0.0.1:$(PORT) --workers 1

SITE ?=

serve: $(VENV)/run.stamp libraries ## Serve a small salon from this machine, as root: SITE=salon.local
	@sh salon/tools/serve.sh install "$(SITE)"

test: $(VENV)/dev.stamp libraries browser test-fast test-slow test-postgres test-browser ## Run every test: SQLite, PostgreSQL, Chromium

# The quick ones on SQLite; what these rooms' own tests leave out of their branches fails the run.
QUICK := -m pytest -m "not browser and not slow and not postgres" -n $(WORKERS)
ROOMS := tests/formulas/engine tests/clients/skin_test tests/clients/test_offers.py tests/clients/test_health_consent.py \
  tests/consult/agreement tests/consult/bench tests/consult/visit/test_reaction.py

test-fast: $(VENV)/dev.stamp libraries coverage ## Run the quick tests on SQLite
	$(PY) $(QUICK) $(addprefix --ignore ,$(ROOMS))

# Their order and values are the same each time, so that a branch counted once is counted again; on PostgreSQL they vary.
coverage: $(VENV)/dev.stamp libraries ## Run the quick tests of engine, gate, agreement and bench, and count their branches
	@mkdir -p var/coverage
	$(PY) -m coverage erase
	$(PY) -m coverage run $(QUICK) --randomly-seed=1 --hypothesis-seed=1 $(ROOMS)
	$(PY) -m coverage combine --quiet
	$(PY) -m coverage report

test-slow: $(VENV)/dev.stamp libraries
	$(PY) -m pytest -m "slow and not browser and not postgres" -n $(WORKERS)

# Of no interest to the other database: the engine, the project's own files (but its upgrades), paper, the other
# language, the demo, and screens that only draw what the tests of their services ask there too.
ELSEWHERE := tests/formulas/engine tests/consult/paper tests/consult/hair/test_residue.py \
  $(wildcard tests/formulas/test_*views.py) tests/formulas/test_explanation.py tests/consult/moves/test_pages.py \
  $(addprefix tests/consult/test_,german.py demo.py queries.py views.py forms_posted.py formula_posted.py) \
  $(addprefix tests/consult/history/test_,learning.py control.py) \
  $(addprefix tests/consult/agreement/test_,agreement.py last_time.py whole_head.py wished_depth.py) \
  $(addprefix tests/consult/screens/test_,client_view.py first_steps.py taking_back.py) \
  $(addprefix tests/consult/bench/test_,check_times.py comparison.py peroxide_on_screen.py clocks.py amounts.py \
    bench_posted.py formula_and_bench.py recipes.py shared_bowl.py sheet.py)

test-postgres: $(VENV)/dev.stamp browser
	$(PY) salon/tools/with_postgres.py $(PY) -m pytest -m "not browser" -n $(WORKERS) $(addprefix --ignore ,$(ELSEWHERE)) \
	  --ignore-glob 'tests/project/test_*.py'
	$(PY) salon/tools/with_postgres.py $(PY) -m pytest -m "browser and both" --reruns 1 -r R tests/browser

test-browser: $(VENV)/dev.stamp browser
	$(PY) -m pytest -m browser --reruns 1 -r R -n $(WORKERS) --dist worksteal

upgrade-rehearsal: $(VENV)/dev.stamp ## Take rows of every released schema to the present one and compare them
	$(PY) -m pytest tests/project/upgrade -m slow -v

KILLS ?= 200

kills: $(VENV)/dev.stamp browser ## Kill the service 200 times while people write, on both databases
	KILLS=$(KILLS) $(PY) -m pytest tests/serving/test_kills.py -rP
	KILLS=$(KILLS) $(PY) salon/tools/with_postgres.py $(PY) -m pytest tests/serving/test_kills.py -rP

check: $(VENV)/dev.stamp ## Lint, format, types, imports, migrations, deployment settings
	$(VENV)/bin/ruff check .
	$(VENV)/bin/ruff format --check .
	$(VENV)/bin/mypy .
	$(VENV)/bin/lint-imports
	$(VENV)/bin/oxlint --deny-warnings static/js
	$(VENV)/bin/biome check --config-path salon/tools --error-on-warnings static
	$(VENV)/bin/djlint templates --quiet --lint
	$(VENV)/bin/djlint templates --quiet --check
	$(PY) -m salon.tools.audit
	$(PY) manage.py makemigrations --check --dry-run
	SALON_MODE=production SECRET_KEY=check-only-0123456789-abcdefghijklmnopqrstuvwxyz-ABCDEFG \
	  SIGNING_KEY=Y2hlY2stb25seS1ub3QtYS1zZWNyZXQtMDEyMzQ1Njc= \
	  STORAGE_KEY=Y2hlY2stb25seS1ub3QtYS1zZWNyZXQtMDEyMzQ1Njg= \
	  ALLOWED_HOSTS=salon.example DATABASE_URL=postgres://salon@db/salon \
	  EMAIL_URL=smtp+tls://smtp.example:587 \
	  $(PY) manage.py check --deploy --fail-level WARNING

rooms: $(VENV)/dev.stamp ## Print the modules and the imports of every folder
	@$(PY) -m salon.tools.rooms

format: $(VENV)/dev.stamp ## Put the code into its form
	$(VENV)/bin/ruff check --fix .
	$(VENV)/bin/ruff format .
	$(VENV)/bin/biome check --config-path salon/tools --write static
	-$(VENV)/bin/djlint templates --quiet --reformat

bench: $(VENV)/dev.stamp ## Measure the colour engine, side by side in one run
	$(PY) -m formulas.engine.cli.benchmark

# The smaller salon and the larger: as many stylists, so that a day is as full in both.
SMALL ?= 10000
LARGE ?= 100000

bench-pages: $(VENV)/dev.stamp ## Measure pages at two sizes (SMALL=, LARGE= visits) on both databases, beside Django's admin
	$(PY) -m tests.bench.run $(SMALL) $(LARGE)

screenshots: $(VENV)/dev.stamp libraries browser ## Make the README's pictures and the contact sheet again
	$(PY) -m tests.screenshots

words: $(VENV)/run.stamp browser ## Collect the words to translate, compile those of each language
	$(PY) manage.py makemessages --all --add-location file --no-obsolete --ignore .venv --ignore 'var/*' --ignore tests
	sed -i '/^"POT-Creation-Date/d;/^#|/d' $(addsuffix .po,$(WORDS))
	for words in $(WORDS); do msgfmt --check-format -o $$words.mo $$words.po || exit 1; done

locks: $(VENV)/dev.stamp ## Resolve the dependencies again
	$(VENV)/bin/pip-compile --quiet --upgrade -o salon/requirements/run.txt pyproject.toml
	$(VENV)/bin/pip-compile --quiet --upgrade --extra test --extra check -c salon/requirements/run.txt -o salon/requirements/dev.txt pyproject.toml

clean: ## Remove the virtual environment and the demo salon
	rm -rf $(VENV) var
