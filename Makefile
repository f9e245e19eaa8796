# Two commands do everything on a fresh machine: `make run` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
RUN_STAMP := $(VENV)/.installed-run
TEST_STAMP := $(VENV)/.installed-test
IFCT := tests/published/ifct/node_modules/.package-lock.json
AXE := tests/web/axe/node_modules/.package-lock.json

# The tests that write and read records, once more on PostgreSQL.
ON_POSTGRES := tests/web/test_records.py tests/web/test_migrations.py tests/web/test_batches_adapters.py \
	tests/web/test_batches_packing.py tests/web/test_batches_packing_parts.py tests/web/test_batches_running.py tests/web/test_pantry_package.py \
	tests/web/test_pantry_shelf.py tests/web/test_pantry_places.py tests/web/test_costs_overview.py tests/web/test_data_out.py \
	tests/web/test_costs_sums.py tests/web/test_question_counts.py tests/web/test_data_restore_killed.py \
	tests/web/test_readings_page.py tests/web/test_readings_file.py \
	tests/web/test_migrations_from_each_state.py tests/web/test_pantry_at_once.py tests/web/test_once_at_once.py tests/web/test_once_api.py \
	tests/web/test_shared_queue.py

# Whole files to two workers, in the order of tests/conftest.py: the longest first.
TWO_AT_ONCE := -n 2 --dist loadfile --no-loadscope-reorder

.PHONY: run test quick explore lint bench checks runs mutants evidence golden golden-compare clean

run: $(RUN_STAMP)  ## create the environment and serve the demo on http://127.0.0.1:8000
	$(BIN)/drystow serve --demo --port 8000

test: $(TEST_STAMP) $(IFCT) $(AXE) chromium lint  ## everything: lint, types, engine, outside checks, command line, web
	$(BIN)/python -m pytest $(TWO_AT_ONCE) --ignore=tests/browser
	$(BIN)/python -m pytest $(TWO_AT_ONCE) tests/browser
	tools/with_postgres.sh $(BIN)/python -m pytest $(TWO_AT_ONCE) $(ON_POSTGRES)
	$(BIN)/python -m tools.write_checks --check
	$(BIN)/python -m tools.write_cli_docs --check
	$(BIN)/python -m tools.write_addresses --check

quick: $(TEST_STAMP)  ## lint, types, and the tests of what differs from the last commit
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/python -m tools.quick

explore: $(TEST_STAMP)  ## the tests of laws with examples that nobody has tried yet; `make test` repeats the same ones
	DRYSTOW_EXAMPLES=new $(BIN)/python -m pytest $(TWO_AT_ONCE) -m hypothesis

lint: $(TEST_STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(TEST_STAMP)  ## speed against an independent solution of the same equations
	$(BIN)/python -m benchmarks.bench

checks: $(TEST_STAMP) $(IFCT)  ## write docs/checks.md, every number checked against the outside, the command reference and the addresses
	$(BIN)/python -m tools.write_checks
	$(BIN)/python -m tools.write_cli_docs
	$(BIN)/python -m tools.write_addresses

runs: $(TEST_STAMP)  ## write docs/measured-runs.md, published runs against the engine's predictions; a minute or two
	$(BIN)/python -m tools.write_measured_runs

mutants: $(TEST_STAMP) $(IFCT)  ## write docs/mutants.md: every number made wrong, one at a time, and what noticed; an hour, can be ended and taken up
	$(BIN)/python -m tools.mutants

evidence: $(TEST_STAMP)  ## how well "is it dry?" and the learned machine hold on hundreds of synthetic batches; takes a while
	$(BIN)/python -m tools.write_evidence
	$(BIN)/python -m tools.write_learning

golden: $(TEST_STAMP)  ## keep in out/golden what every command and page says now, before the code is rebuilt
	$(BIN)/python -m tools.golden take out/golden

golden-compare: $(TEST_STAMP)  ## show what they say differently since then
	$(BIN)/python -m tools.golden compare out/golden

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)

$(RUN_STAMP): pyproject.toml | $(BIN)/python
	$(BIN)/pip install --quiet --disable-pip-version-check --no-compile -e '.[plan]'
	touch $@

$(TEST_STAMP): pyproject.toml | $(BIN)/python
	$(BIN)/pip install --quiet --disable-pip-version-check -e '.[test]'
	touch $@ $(RUN_STAMP)

# Indian food composition tables with measured moisture: used by the outside checks only, never shipped.
$(IFCT): tests/published/ifct/package-lock.json
	npm ci --prefix tests/published/ifct --ignore-scripts --no-audit --no-fund --silent

# Rules of accessibility, run on every page by the browser tests only, never shipped.
$(AXE): tests/web/axe/package-lock.json
	npm ci --prefix tests/web/axe --ignore-scripts --no-audit --no-fund --silent

.PHONY: chromium
chromium:
	@command -v chromium >/dev/null || { echo "The browser test needs chromium: apt-get install chromium"; exit 1; }

clean:
	rm -rf $(VENV) tests/published/ifct/node_modules tests/web/axe/node_modules .pytest_cache .mypy_cache .ruff_cache
