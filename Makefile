# conewise. Needs Python 3.11 or later with pip and venv; everything else goes into $(VENV).
# `make demo` shows the program at work, `make test` runs every check that a change must pass.

PYTHON ?= $(shell command -v python3.11 || command -v python3)
VENV   ?= .venv
JOBS   ?= 2
DEMO   ?= demo-out
# Tests of the domain, whose coverage is measured: traced tests take twice the time.
DOMAIN := tests/published $(wildcard tests/unit/test_*.py) $(addprefix tests/unit/,cars course event logs mentoring proof readiness scoring solver vehicle)

BIN    := $(VENV)/bin
PIP    := $(BIN)/python -m pip --disable-pip-version-check --quiet --quiet
PYTEST := $(BIN)/python -m pytest
ASIDE  := -n $(JOBS) --dist worksteal # neighbours stay together and share what their module makes; who is done helps

# One thread for linear algebra: a solve has small matrices, and tests run side by side.
export OMP_NUM_THREADS := 1
# Bytecode is written, whatever the shell says: the tests start dozens of programs, and each would compile all anew.
export PYTHONDONTWRITEBYTECODE :=

.DEFAULT_GOAL := help
.PHONY: help setup demo check compiled test browser bench docs pictures golden lock chromium clean

help: ## this list
	@grep -E '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /\t/' | expand -t 12

# A stamp says that the environment holds what the lock asks for; nothing is installed twice.
$(VENV)/.run: requirements/run.lock pyproject.toml
	@"$(PYTHON)" -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or later is needed; name one with PYTHON=...")'
	@test -x $(BIN)/python || "$(PYTHON)" -m venv $(VENV)
	@echo "Installing the package into $(VENV) (about 1 GB, half a minute) ..."
	@$(PIP) install -r requirements/run.lock
	@$(PIP) install --no-deps --no-build-isolation --editable .
	@touch $@

$(VENV)/.test: $(VENV)/.run requirements/test.lock
	@echo "Installing the test tools into $(VENV) ..."
	@$(PIP) install -r requirements/test.lock
	@touch $@

setup: $(VENV)/.test ## the environment with the package and the test tools

demo: $(VENV)/.run ## solve the demo courses and write the report to demo-out/
	$(BIN)/conewise demo --into $(DEMO)

check: $(VENV)/.test ## style, types, layers: seconds, no test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

compiled: $(VENV)/.test
	$(BIN)/python -m tests.compiled

test: $(VENV)/.test chromium ## everything that a change must pass
	@$(MAKE) --no-print-directory --jobs=2 check compiled
	$(PYTEST) $(ASIDE) --durations=15 --cov --cov-report=term $(DOMAIN)
	$(PYTEST) $(ASIDE) --durations=15 tests $(DOMAIN:%=--ignore=%)

browser: $(VENV)/.test chromium ## the tests that need Chromium
	$(PYTEST) -m browser

bench: $(VENV)/.test ## the benchmarks that docs/benchmarks.md reports; keep the machine quiet
	@set -e; for script in bench/bench_*.py; do echo "== $$script"; PYTHONPATH=. $(BIN)/python $$script; done

docs: $(VENV)/.test ## write the module tree of ARCHITECTURE.md anew
	$(BIN)/python -m tests.architecture

pictures: $(VENV)/.test chromium ## make the pictures of the guide anew, where their pages have changed
	$(PYTEST) tests/browser/test_guide_pictures.py --update-pictures

golden: $(VENV)/.test ## accept today's texts as the golden ones; read the diff before committing
	$(PYTEST) tests/unit/cli/test_fit.py tests/unit/cli/test_line.py --update-golden

lock: ## resolve the newest versions that fit and write requirements/*.lock
	PYTHON="$(PYTHON)" sh requirements/lock.sh

chromium:
	@sh .ci/chromium

clean: ## remove the environment and everything made
	rm -rf $(VENV) $(DEMO) build dist .coverage .coverage.* htmlcov .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
	find src tests bench -name __pycache__ -type d -prune -exec rm -rf {} +
