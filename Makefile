# One-word chores. CI calls what a person calls and nothing else.
PYTHON ?= python3
BIN := .venv/bin
export OPENBLAS_NUM_THREADS := 1
ROOT := $(shell [ "$$(id -u)" = 0 ] && echo yes)

.PHONY: setup setup-dev browser demo test check docs bench soak clean

.venv/core: pyproject.toml constraints.txt
	$(PYTHON) -m venv .venv
	$(BIN)/pip install --quiet --disable-pip-version-check -e . -c constraints.txt
	touch $@

.venv/dev: .venv/core
	$(BIN)/pip install --quiet --disable-pip-version-check -e '.[dev,cluster]' -c constraints.txt
	touch $@

setup: .venv/dev

# Browser tests use Debian's chromium; it is installed when it is missing and we may.
browser:
	@if command -v chromium >/dev/null; then :; \
	elif [ "$(ROOT)" = yes ] && command -v apt-get >/dev/null; then \
	  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium fonts-liberation >/dev/null; \
	else echo "no chromium here: browser tests will be skipped and say so"; fi

demo: .venv/core
	$(BIN)/python -m examples.brennholt.demo

test: .venv/dev browser
	$(BIN)/python -m pytest -n 2 -q

check: .venv/dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(MAKE) --no-print-directory docs

docs: .venv/dev
	$(BIN)/python -m docs.generate
	$(BIN)/sphinx-build -q -W -b html docs docs/_build/html

bench: .venv/dev
	$(BIN)/python -m benchmarks.run

soak: .venv/dev
	$(BIN)/python -m benchmarks.soak

clean:
	rm -rf .venv demo docs/_build .pytest_cache .mypy_cache .ruff_cache
