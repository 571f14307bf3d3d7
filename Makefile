# make run      serve the site on this machine, with a demo garden when it is empty
# make test     everything that CI runs
# make lint     the checks that do not run the site
# make lock     renew the locks in requirements/
# make bench    time the site against its floors
# make mutants  break the rules on purpose and count what no test notices

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.ONESHELL:
.DELETE_ON_ERROR:

PYTHON ?= python3
# DEMO=no starts an empty site, whose first page asks for its first person.
DEMO ?= yes
VENV := .venv
REFERENCE := .venv-reference
MUTATION := .venv-mutation
PIP := -m pip --disable-pip-version-check --no-input install --quiet --require-hashes

export PYTHONUNBUFFERED := 1

.PHONY: run test lint test-external lock bench mutants clean always

run: $(VENV)/run-installed
	@$(VENV)/bin/python manage.py migrate --no-input --verbosity 0
	$(VENV)/bin/python manage.py collectstatic --no-input --verbosity 0
	if [ "$(DEMO)" != no ]; then $(VENV)/bin/python manage.py load_demo --if-empty; fi
	# So that nothing is left behind when make itself is killed.
	exec $$(command -v setpriv >/dev/null && echo setpriv --pdeathsig TERM) \
	  $(VENV)/bin/python manage.py serve

test: $(VENV)/dev-installed $(REFERENCE)/installed
	@.ci/suites

lint: $(VENV)/dev-installed
	@.ci/lint

test-external: $(VENV)/dev-installed $(REFERENCE)/installed
	$(VENV)/bin/python -m pytest -q tests/external
	.ci/live-comparison

bench: $(VENV)/dev-installed $(REFERENCE)/installed
	$(REFERENCE)/bin/python benchmarks/climate_against_xclim.py
	$(REFERENCE)/bin/python benchmarks/water_and_heat.py
	$(VENV)/bin/python benchmarks/rehearsal.py
	$(VENV)/bin/python benchmarks/plan_ten_thousand.py
	$(VENV)/bin/python benchmarks/page_queries.py
	$(VENV)/bin/python benchmarks/fair_shares.py
	$(VENV)/bin/python benchmarks/dispatch_rate.py
	.ci/services $(VENV)/bin/python benchmarks/dispatch_rate.py

# A half-made environment is completed in place. One that was moved, or whose Python no longer
# starts, as after a system upgrade, is made from nothing.
stale = $(shell [ "$$(cat $(1)/made 2>/dev/null)" = "$(CURDIR)" ] \
  && $(1)/bin/python -c '' 2>/dev/null || echo always)

define make-environment
@$(python-is-3.11)
echo "Making $(@D)"
clear=
if [ -e $@ ] || { [ -L $(@D)/bin/python ] && ! $(@D)/bin/python -c '' 2>/dev/null; }; then
  clear=--clear
fi
$(PYTHON) -m venv $$clear $(@D)
echo "$(CURDIR)" > $@
endef

define python-is-3.11
if ! $(PYTHON) -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11))' 2>/dev/null; then
  echo "Python 3.11 is needed, and $(PYTHON) is not that." \
    "Name it like this: make PYTHON=/usr/bin/python3.11" >&2
  exit 1
fi
endef

$(VENV)/made: $(call stale,$(VENV))
	$(make-environment)

$(REFERENCE)/made: $(call stale,$(REFERENCE))
	$(make-environment)

# The stamps come last, so that an interrupted installation is taken up again.
$(VENV)/run-installed: requirements/run.lock $(VENV)/made
	@echo "Installing requirements/run.lock"
	$(VENV)/bin/python $(PIP) -r requirements/run.lock
	touch $@

$(VENV)/dev-installed: requirements/dev.lock requirements/records.lock $(VENV)/made
	@echo "Installing requirements/dev.lock and requirements/records.lock"
	$(VENV)/bin/python $(PIP) -r requirements/dev.lock
	# Read for their data files alone.
	$(VENV)/bin/python $(PIP) --no-deps -r requirements/records.lock
	touch $@

$(REFERENCE)/installed: requirements/reference.lock requirements/records.lock $(REFERENCE)/made
	@echo "Installing requirements/reference.lock and requirements/records.lock"
	$(REFERENCE)/bin/python $(PIP) -r requirements/reference.lock
	$(REFERENCE)/bin/python $(PIP) --no-deps -r requirements/records.lock
	touch $@

mutants: $(MUTATION)/installed
	@.ci/mutants

$(MUTATION)/made: $(call stale,$(MUTATION))
	$(make-environment)

$(MUTATION)/installed: requirements/mutation.lock requirements/records.lock $(MUTATION)/made
	@echo "Installing requirements/mutation.lock and requirements/records.lock"
	$(MUTATION)/bin/python $(PIP) -r requirements/mutation.lock
	$(MUTATION)/bin/python $(PIP) --no-deps -r requirements/records.lock
	touch $@

COMPILE = build/lock/bin/uv --quiet pip compile --universal --python-version 3.11 \
  --generate-hashes --no-header --no-emit-index-url --upgrade

lock:
	@$(python-is-3.11)
	set -x
	$(PYTHON) -m venv --clear build/lock
	build/lock/bin/python -m pip --disable-pip-version-check install --quiet uv
	$(COMPILE) --group dev pyproject.toml -o requirements/dev.lock
	$(COMPILE) pyproject.toml -o requirements/run.lock
	$(COMPILE) --no-deps --group records -o requirements/records.lock
	$(COMPILE) --group reference -o requirements/reference.lock
	$(COMPILE) --group dev --group mutation pyproject.toml -o requirements/mutation.lock
	$(PYTHON) .ci/check_locks.py
	rm -rf build/lock

# The site's data in var/ stay.
clean:
	rm -rf $(VENV) $(REFERENCE) $(MUTATION) build staticfiles .mypy_cache .ruff_cache .pytest_cache \
	  .hypothesis .import_linter_cache
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
