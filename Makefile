# Two commands on a fresh machine: `make run` and `make test`. Both set up all they need.
PYTHON ?= $(shell for p in python3.13 python3.12 python3.11 python3; do command -v $$p >/dev/null 2>&1 && $$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
VENV := .venv
PY := $(VENV)/bin/python

.PHONY: run test check bench torture screens clean

run: $(VENV)/.ready
	@$(PY) -m studiolog.system_check
	@$(PY) -m studiolog --demo

test: $(VENV)/.ready
	@QT_QPA_PLATFORM=offscreen $(PY) -m studiolog.system_check
	QT_QPA_PLATFORM=offscreen $(PY) -m pytest -n 2 --dist loadfile

check: $(VENV)/.ready
	$(VENV)/bin/ruff check .
	$(VENV)/bin/ruff format --check .
	$(VENV)/bin/mypy
	$(VENV)/bin/lint-imports

bench: $(VENV)/.ready
	@$(PY) -c 'import openpyxl, pandas' 2>/dev/null || $(PY) -m pip install --quiet --disable-pip-version-check --constraint constraints.txt --editable ".[bench]"
	QT_QPA_PLATFORM=offscreen $(PY) -m tests.bench

# Ends the program 120 times at moments drawn anew, then looks for examples nobody has tried.
torture: $(VENV)/.ready
	STUDIOLOG_KILLS=120 QT_QPA_PLATFORM=offscreen $(PY) -m pytest -s tests/flows/test_sudden_end.py
	HYPOTHESIS_PROFILE=wander QT_QPA_PLATFORM=offscreen $(PY) -m pytest -n 2 --dist loadfile \
		$$(grep -rlE "^from (hypothesis|tests.wandering)" tests --include="test_*.py")

screens: $(VENV)/.ready
	QT_QPA_PLATFORM=offscreen $(PY) -m studiolog --demo screens build/screens

$(VENV)/.ready: pyproject.toml constraints.txt
	@if [ -z "$(PYTHON)" ]; then echo "Studiolog needs Python 3.11 or newer. Debian, Ubuntu: apt install python3 python3-venv"; exit 2; fi
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { echo "Python's venv module is missing. Debian, Ubuntu: apt install python3-venv"; exit 2; }
	@test -x $(PY) || $(PYTHON) -m venv $(VENV)
	@echo "Setting up .venv (a minute or two the first time)"
	@$(PY) -m pip install --quiet --disable-pip-version-check --constraint constraints.txt --editable ".[dev]"
	@touch $@

clean:
	rm -rf $(VENV) build dist
