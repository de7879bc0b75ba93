# make demo   the program on an invented kitchen (needs Python 3.11 or newer, sets up the rest)
# make test   everything that must hold

VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --quiet
PYTHON ?= $(shell for p in python3.11 python3; do \
	$$p -c 'import ensurepip, sys, venv; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
PROJECT := import tomllib; project = tomllib.load(open("pyproject.toml", "rb"))["project"]
RUNTIME := $(PROJECT); print(*project["dependencies"])
POSTGRES := $(PROJECT); print(*project["optional-dependencies"]["postgres"])

.PHONY: demo test

demo: $(VENV)/runs
	@$(BIN)/kettlewell demo

test: $(VENV)/tests
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	KETTLEWELL_HOME=$(VENV)/home $(BIN)/mypy
	$(BIN)/lint-imports
	@tests/programs.sh
	tests/postgres.sh $(BIN)/pytest tests/records tests/bridge tests/web -m "not browser and not sqlite" || { \
		said=$$?; [ $$said = 75 ] || exit $$said; \
		echo "There is no PostgreSQL here: the day book is tried on SQLite alone."; }
	env -u KETTLEWELL_DATABASE $(BIN)/pytest -m "$$(command -v chromium >/dev/null || echo not browser)"
	@command -v chromium >/dev/null || echo "There is no Chromium here: the tests in a browser are left out."

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
