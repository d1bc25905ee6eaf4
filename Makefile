PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready

.PHONY: demo test lint types bench fuzz docs clean system

# One virtual environment serves every target; it is made anew when the dependencies change.
$(READY): pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[test]'
	$(BIN)/python -m pip download --quiet --no-deps --no-binary gpxpy --dest $(VENV)/outside gpxpy==1.6.2
	touch $(READY)

demo: $(READY)
	$(BIN)/python scripts/demo.py

system:
	sh scripts/system_packages.sh

test: $(READY) system
	$(BIN)/python -m pytest -n auto

lint: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

bench: $(READY) system
	$(BIN)/python benchmarks/run.py

# At least 100,000 spoilt payloads for every parser; hours, for a quiet night.
fuzz: $(READY)
	$(BIN)/python scripts/fuzz.py

docs: $(READY)
	$(BIN)/python -m pytest -q tests/house

clean:
	rm -rf $(VENV) build out tests/failures
