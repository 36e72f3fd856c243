# Everything a newcomer types.  Needs Python 3.11 or newer, git and make.
# Paths are relative throughout: make cannot handle a space in an absolute one.

# Which Python builds .venv: yours with `make PYTHON=/path/to/python3.11 demo`,
# otherwise the first of these names that is new enough.
PYTHON ?=
PYTHON_NAMES = python3.11 python3 python python3.12 python3.13 python3.14

# Where the site listens.
HOST ?= 127.0.0.1
PORT ?= 8000
# `make demo SERVE=no` stops after printing the job.
SERVE ?= yes
# Passed on: `make test ARGS="tests/shop -k money"`.
ARGS ?=

VENV = .venv
PY = $(VENV)/bin/python
MANAGE = $(PY) manage.py
STAMP = $(VENV)/.installed

.PHONY: help demo run test lint format bench stress worker beat shots clean
.DEFAULT_GOAL := help

help:
	@echo 'make demo    install, load the invented shop, print one whole job, serve the site'
	@echo '             (SERVE=no: only print; PORT=8001: another port)'
	@echo 'make run     serve the site and send what is due, without a broker'
	@echo 'make test    the whole suite; make test ARGS="tests/shop -k name" for a part'
	@echo 'make lint    what CI checks besides the tests; make format mends what it can'
	@echo 'make bench   the measured figures of the README'
	@echo 'make stress  kills, cuts and crowds it on purpose and counts (needs PostgreSQL and Redis)'
	@echo 'make worker  a Celery worker (needs HALFMIL_REDIS_URL); make beat: its clock'
	@echo 'make shots   screenshots of the demo for the README (needs Chromium)'
	@echo 'make clean   remove caches; .venv and var (your data) stay'

# The name of the first Python that is new enough; where there is none, "!" and
# the version of the first that is too old.  A name that is there but does not
# run (a version manager's stub) is passed over.  No `case` in here: make would
# take its single brackets for the end of the call.
ASK = import sys; v = tuple(sys.version_info[:3]); print("%d.%d.%d" % v); sys.exit(v < (3, 11))
find_python = $(shell \
	if [ -n '$(PYTHON)' ]; then set -- '$(PYTHON)'; else set -- $(PYTHON_NAMES); fi; \
	old=; \
	for name in "$$@"; do \
	  if version=$$("$$name" -c '$(ASK)' 2>/dev/null); then echo "$$name"; exit 0; fi; \
	  old="$${old:-$$version}"; \
	done; \
	echo "!$${old:-none}")
# Asked once, and only when .venv has to be built.
python_found = $(eval python_found := $$(find_python))$(python_found)
python_wrong = Halfmil needs Python 3.11 or newer; found $(patsubst !%,%,$(python_found)). \
	Install it or run make PYTHON=/path/to/python3.11 $(firstword $(MAKECMDGOALS))

$(STAMP): pyproject.toml
	@$(if $(filter !%,$(python_found)),$(error $(strip $(python_wrong))))"$(python_found)" -m venv $(VENV) \
	  || { echo 'Halfmil could not make .venv: install the venv module (Debian: apt install python3-venv).' >&2; exit 1; }
	@echo 'Installing packages into .venv; the first time this takes a minute or two ...'
	@$(PY) -m pip install -qq --disable-pip-version-check --editable '.[dev]'
	@touch $(STAMP)

demo: $(STAMP)
	@$(MANAGE) migrate --verbosity 0
	@$(MANAGE) demo
	@if [ '$(SERVE)' != no ]; then exec $(MANAGE) run --host '$(HOST)' --port '$(PORT)'; fi

run: $(STAMP)
	@$(MANAGE) migrate --verbosity 0
	@exec $(MANAGE) run --host '$(HOST)' --port '$(PORT)'

test: $(STAMP)
	@$(PY) -m tests $(ARGS)

lint: $(STAMP)
	@echo '== ruff: mistakes and style'
	@$(PY) -m ruff check .
	@$(PY) -m ruff format --check .
	@echo '== mypy: types, strict in the cores'
	@$(PY) -m mypy .
	@echo '== import-linter: which room may import which'
	@$(VENV)/bin/lint-imports --no-logo
	@echo '== migrations: complete, and safe to run on a shop with data'
	@HALFMIL_DATABASE_URL=sqlite:///:memory: $(MANAGE) makemigrations --check --dry-run
	@HALFMIL_DATABASE_URL=sqlite:///:memory: $(PY) -m tests.project.lint_migrations

format: $(STAMP)
	@$(PY) -m ruff check --fix .
	@$(PY) -m ruff format .

bench: $(STAMP)
	@$(PY) -m tests.bench $(ARGS)

stress: $(STAMP)
	@$(PY) -m tests.stress $(ARGS)

worker: $(STAMP)
	@exec $(MANAGE) worker

beat: $(STAMP)
	@exec $(MANAGE) beat

shots: $(STAMP)
	@$(PY) -m tests.browser.shots $(ARGS)

clean:
	@rm -rf .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache build *.egg-info
	@find . -name __pycache__ -type d -not -path './$(VENV)/*' -prune -exec rm -rf {} +
