# Every command for people and machines. Needs make and Python >= 3.11 with venv; `make` lists all.
.DEFAULT_GOAL := help
.PHONY: help setup system decoder axe demo test lint fix bench bench-big bench-pictures prove faults \
	serve screens lock words bill audit ahead

PY := .venv/bin/python
ADDRESS ?= 127.0.0.1:8000
SERVE ?= 1
GUNICORN := .venv/bin/gunicorn kitting.wsgi --bind $(ADDRESS) --worker-class gthread --workers 2 \
	--threads 4 --no-control-socket
DEMO := DATABASE_URL=sqlite:///$(CURDIR)/demo.sqlite3 LASTBOLT_MEDIA=$(CURDIR)/media/demo
LOCK := --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
	--no-emit-find-links --no-annotate --custom-compile-command "make lock"

help: ## list the commands
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "make %-9s %s\n", $$1, $$2}' Makefile

setup: system decoder axe .venv/dev.stamp ## install everything: .venv, the live camera's decoder, and system packages where there are rights

demo: .venv/runtime.stamp decoder ## walk one week of an invented firm, then serve it (SERVE=0 stops before)
	@$(MAKE) --no-print-directory system WANTED=libzbar0
	rm -rf demo.sqlite3* media/demo
	$(DEMO) $(PY) manage.py migrate --verbosity 0
	$(DEMO) $(PY) manage.py collectstatic --noinput --verbosity 0
	$(DEMO) $(PY) manage.py demo_walk --address $(ADDRESS)
ifneq ($(SERVE),0)
	@echo "open http://$(ADDRESS)/   stop with Ctrl-C"
	$(DEMO) $(GUNICORN)
endif

test: .venv/dev.stamp decoder axe ## all tests: SQLite, PostgreSQL, chromium (TESTS=sqlite: without the last two)
	@$(MAKE) --no-print-directory system
	$(PY) -m tests.run $(ARGS)

lint: .venv/dev.stamp ## ruff and mypy
	.venv/bin/ruff format --check .
	.venv/bin/ruff check .
	.venv/bin/mypy

fix: .venv/dev.stamp ## format, and repair what ruff can
	.venv/bin/ruff format .
	.venv/bin/ruff check --fix .

bench: .venv/dev.stamp ## time the kit, the family check, the intake and a scan over HTTP
	$(PY) -m tests.bench

bench-big: .venv/dev.stamp ## the same pages and scans among ten million movements: an hour or more
	$(PY) -m tests.bench.big $(ARGS)

bench-pictures: .venv/dev.stamp ## what each step of reading a photo adds and costs, on photographs and drawn codes
	$(PY) -m tests.bench.pictures
	OPENBLAS_NUM_THREADS=1 $(PY) -m tests.bench.walls  # as in the child that reads photos

prove: .venv/dev.stamp ## the tests at full counts: laws, kills, simulations
	COUNTS=full $(PY) -m tests.run $(ARGS)

ahead: .venv/dev.stamp ## the tests on SQLite with the next Django, where a newer Python is found (or named: PYTHON=...)
	$(PY) -m tests.ahead $(ARGS)

faults: .venv/dev.stamp ## plant each known fault in a copy; its test must turn red
	$(PY) -m tests.faults.run

serve: .venv/runtime.stamp decoder ## serve the database that DATABASE_URL names (db.sqlite3)
	$(PY) manage.py migrate --verbosity 0
	$(PY) manage.py collectstatic --noinput --verbosity 0
	$(GUNICORN)

screens: .venv/dev.stamp decoder axe ## visit every page in two widths, make the README's pictures
	@$(MAKE) --no-print-directory system
	$(PY) -m tests.screens

lock: .venv/dev.stamp ## write requirements*.txt and the locks of what comes from npm anew
	.venv/bin/uv pip compile $(LOCK) requirements.in -o requirements.txt
	.venv/bin/uv pip compile $(LOCK) requirements-dev.in -o requirements-dev.txt
	cd inventory/camera && npm install --silent --package-lock-only
	cd tests/browser/axe && npm install --silent --package-lock-only
	$(PY) -c "$$ADDRESS_FREE"

bill: .venv/dev.stamp ## list what the program is made of, in CycloneDX, into lastbolt.cdx.json
	$(PY) -m tests.supply bill lastbolt.cdx.json

audit: .venv/dev.stamp ## ask whether anything of it is known to be vulnerable; says so where nobody can be asked
	@$(PY) -m tests.supply audit

words: ## compile the phone's German and Spanish anew (needs msgfmt of gettext)
	for one in de es; do msgfmt -c -o kitting/locale/$$one/LC_MESSAGES/django.mo \
		kitting/locale/$$one/LC_MESSAGES/django.po; done

# A candidate is run, not only looked up: some machines have names on the path that start nothing. The
# system's own go first: they are built for speed, and take a tenth to a fifth less than one that a
# version manager compiled.
.venv/bin/python:
	@for python in /usr/bin/python3.13 /usr/bin/python3.12 /usr/bin/python3.11 \
		python3.13 python3.12 python3.11 python3; do \
		if $$python -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' \
			2>/dev/null; then echo "$$python -m venv .venv"; exec $$python -m venv .venv; fi; \
	done; echo "needed: Python 3.11 or newer with venv (Debian: apt-get install python3-venv)" >&2; \
	exit 1

# pip compiles what it installs on one core: left to a step of its own, on all of them.
INSTALL := -m pip install --quiet --disable-pip-version-check --no-compile --require-hashes
.venv/runtime.stamp: requirements.txt | .venv/bin/python
	$(PY) $(INSTALL) -r requirements.txt
	@$(PY) -m compileall -qq -j 0 .venv/lib
	@touch $@

.venv/dev.stamp: requirements-dev.txt .venv/runtime.stamp
	$(PY) $(INSTALL) -r requirements-dev.txt
	@$(PY) -m compileall -qq -j 0 .venv/lib
	@touch $@

# The live camera's decoder: from npm, held to the hashes of inventory/camera/package-lock.json. Its two
# files are copied beside the worker that loads them, where git does not see them.
DECODER := inventory/static/inventory/decoder
NPM := inventory/camera/node_modules/zxing-wasm
decoder: $(DECODER)/zxing_reader.wasm
$(DECODER)/zxing_reader.wasm: inventory/camera/package-lock.json
	@why=; command -v npm >/dev/null && npm --version >/dev/null 2>&1 || why="no node with npm here"; \
	test -n "$$why" || (cd inventory/camera && npm ci --silent >/dev/null 2>&1) || \
		why="npm ci in inventory/camera failed"; \
	if test -n "$$why"; then \
		echo "not installed: decoder of the live camera ($$why). Left out: reading codes" \
			"with the live camera, and its tests; photos are read as ever"; \
	else \
		cp $(NPM)/LICENSE $(DECODER)/LICENSE.txt && cp $(NPM)/dist/iife/reader/index.js \
			$(DECODER)/reader.js && cp $(NPM)/dist/reader/zxing_reader.wasm $@ && touch $@; \
	fi

# What judges pages in tests: from npm too, and read where npm puts it.
AXE := tests/browser/axe/node_modules/axe-core/axe.min.js
axe: $(AXE)
$(AXE): tests/browser/axe/package-lock.json
	@why=; command -v npm >/dev/null && npm --version >/dev/null 2>&1 || why="no node with npm here"; \
	test -n "$$why" || (cd tests/browser/axe && npm ci --silent >/dev/null 2>&1) || \
		why="npm ci in tests/browser/axe failed"; \
	if test -n "$$why"; then \
		echo "not installed: axe-core ($$why). Left out: its judgement of the pages in tests"; \
	else touch $@; fi

# npm notes who asks for money under which address; a lock without addresses does without.
define ADDRESS_FREE
import json, pathlib
for folder in ("inventory/camera", "tests/browser/axe"):
    lock = pathlib.Path(folder, "package-lock.json")
    data = json.loads(lock.read_text())
    for package in data["packages"].values():
        package.pop("funding", None)
    lock.write_text(json.dumps(data, indent=2) + "\n")
endef
export ADDRESS_FREE

# System packages: installed by apt-get where there are rights, else one line says what is left out.
# Of a chromium the one without windows, where it is packed by itself: tests take a third less.
SHELL_ONLY := chromium-headless-shell
WANTED ?= libzbar0 $(SHELL_ONLY) cups-ipp-utils
system:
	@missing=; left=; why=; sudo=; for name in $(WANTED); do case $$name in \
		libzbar0) PATH=$$PATH:/sbin ldconfig -p | grep -q 'libzbar\.so' || \
			{ missing="$$missing $$name"; left="$$left the second barcode reader;"; };; \
		$(SHELL_ONLY)) command -v $$name || command -v chromium || command -v chromium-browser || \
			{ missing="$$missing $$name"; left="$$left browser tests and screens;"; };; \
		cups-ipp-utils) PATH=$$PATH:/usr/sbin command -v ippeveprinter || \
			{ missing="$$missing $$name"; left="$$left tests of printing at once;"; };; \
	esac; done >/dev/null 2>&1; \
	test -z "$$missing" && exit 0; \
	if ! command -v apt-get >/dev/null; then why="no apt-get here"; \
	elif test "$$(id -u)" != 0; then sudo="sudo -n"; \
		sudo -n true 2>/dev/null || why="installing needs root"; fi; \
	if test -z "$$why"; then \
		echo "apt-get install$$missing"; why="apt-get failed"; \
		{ $$sudo apt-get update -qq; apt-cache show $(SHELL_ONLY) || \
			missing=$$(echo "$$missing" | sed 's/$(SHELL_ONLY)/chromium/'); \
			$$sudo env DEBIAN_FRONTEND=noninteractive apt-get install -qq -y \
			--no-install-recommends $$missing; } >/dev/null 2>&1 && exit 0; \
	fi; \
	echo "not installed:$$missing ($$why). Left out:$$left"
