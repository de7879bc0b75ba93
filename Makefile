# make demo     the program on an invented kitchen (needs Python 3.11 or newer, sets up the rest)
# make test     everything that must hold
#
# and while working:
# make quick    the tests that take seconds, in the database of a file, without a browser
# make lint     ruff and the walls between the rooms
# make types    mypy
# make moments  what is said of now, at eight awkward moments
# make mutants  whether the tests catch slips in the heart of the program (MUTANTS=200)
# make bench    every script of bench/ at the size of its published figures: hours
# make wheel    the program as one file in dist/, which pip installs
# make serve    your own kitchen, in the home folder of docs/reference/settings.md

VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --quiet
PYTHON ?= $(shell for p in python3.11 python3; do \
	$$p -c 'import ensurepip, sys, venv; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
PROJECT := import tomllib; project = tomllib.load(open("pyproject.toml", "rb"))["project"]
RUNTIME := $(PROJECT); print(*project["dependencies"])
POSTGRES := $(PROJECT); print(*project["optional-dependencies"]["postgres"])

MUTANTS ?= 200

unexport PYTHONDONTWRITEBYTECODE  # the tests start some hundred processes, and each would compile the program anew

.PHONY: demo test quick lint types moments mutants bench wheel serve

demo: $(VENV)/runs
	@$(BIN)/kettlewell demo

test: $(VENV)/tests
	@$(MAKE) --jobs=2 --output-sync=target lint types
	@$(MAKE) moments
	@tests/programs.sh
	tests/postgres.sh $(BIN)/pytest tests/records tests/bridge tests/web -m "not browser and not sqlite" || { \
		said=$$?; [ $$said = 75 ] || exit $$said; \
		echo "There is no PostgreSQL here: the day book is tried on SQLite alone."; }
	env -u KETTLEWELL_DATABASE $(BIN)/pytest -m "$$(command -v chromium >/dev/null || echo not browser)"
	@command -v chromium >/dev/null || echo "There is no Chromium here: the tests in a browser are left out."

quick: $(VENV)/tests
	env -u KETTLEWELL_DATABASE $(BIN)/pytest -m "not slow and not browser"

lint: $(VENV)/tests
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/lint-imports

types: $(VENV)/tests
	KETTLEWELL_HOME=$(VENV)/home $(BIN)/mypy

moments: $(VENV)/tests
	env -u KETTLEWELL_DATABASE $(BIN)/python tools/moments.py

mutants: $(VENV)/tests
	$(BIN)/python tools/mutants.py $(MUTANTS)

bench: $(VENV)/tests
	@for script in bench/*.py; do echo "== $$script"; $(BIN)/python $$script || exit 1; done

wheel: $(VENV)/runs
	@$(PIP) wheel --no-deps --wheel-dir dist .
	@echo dist/*.whl

serve: $(VENV)/runs
	@$(BIN)/kettlewell serve

# Hashes in constraints.txt make pip check every download, which it refuses for an
# editable project: so first what the project needs, then the project without it.
$(VENV)/runs: pyproject.toml constraints.txt
	@test -n "$(PYTHON)" || { echo "Kettlewell needs Python 3.11 or newer with its venv module." >&2; exit 1; }
	@echo "Setting up $(VENV) (once, about a minute) ..."
	@$(PYTHON) -m venv --clear $(VENV)
	@$(PIP) install --upgrade "pip>=25.1"
	@$(PIP) install --constraint constraints.txt $$($(BIN)/python -c '$(RUNTIME)')
	@$(PIP) install --no-deps --editable .
	@touch $@

$(VENV)/tests: $(VENV)/runs
	@$(PIP) install --constraint constraints.txt --group dev $$($(BIN)/python -c '$(POSTGRES)')
	@touch $@
