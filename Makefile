# Every target says what it does; `make` alone lists them. CI calls the same targets.
SHELL       := bash
.SHELLFLAGS := -eu -o pipefail -c
.NOTPARALLEL:
.DEFAULT_GOAL := help

GO        ?= go
VERSION   ?= $(shell sed -n 's/^var Version = "\(.*\)"/\1/p' internal/cli/version.go)
PLATFORMS ?= linux/amd64 linux/arm64 windows/amd64 darwin/arm64
# How long and where to fuzz, and how long to measure.
FUZZTIME  ?= 60s
FUZZ      ?= quantity pack journal
BENCHTIME ?= 1s
BENCH_ROUNDS ?= 1
ADDR      ?= 127.0.0.1:8484
# How often torture kills a program that is writing, and how many phones lose their Wi-Fi.
KILLS     ?= 1000
SEQUENCES ?= 200

.PHONY: help run test bench check fuzz golden torture docs release
.PHONY: needs fresh format vet build

help: ## list the targets
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/\1|\2/p' $(MAKEFILE_LIST) | while IFS='|' read -r name what; do printf '  make %-9s %s\n' "$$name" "$$what"; done

run: build ## the main job: the demo bench, four engines in different phases, at ADDR=127.0.0.1:8484
	bin/buttonup serve --demo --addr $(ADDR)

test: needs fresh format vet build ## install what the tests need, then run everything, the pages in a browser too
	@without="$${BUTTONUP_WITHOUT_REFERENCES:-}"; [ "$$without" = 1 ] || export BUTTONUP_BROWSER=1; \
	echo '$(GO) test -vet=off -timeout 30m ./...'; $(GO) test -vet=off -timeout 30m ./...

bench: ## measure: every benchmark, BENCHTIME=1s each, reading to verdict in a browser, then uncertainty beside python3-uncertainties and numpy, and the order of work beside MiniZinc and CBC, BENCH_ROUNDS=1
	$(GO) test -run '^$$' -bench . -benchmem -benchtime $(BENCHTIME) $$(grep -rl --include='*_test.go' '^func Benchmark' . | xargs -n1 dirname | sort -u)
	BUTTONUP_BENCH=1 $(GO) test -count=1 -v -run '^TestPagesInABrowser$$' ./internal/web
	BUTTONUP_BENCH=1 $(GO) test -count=1 -v -run '^TestTheTelephoneCall$$' ./internal/recall
	ROUNDS=$(BENCH_ROUNDS) bench/run.sh
	ROUNDS=$(BENCH_ROUNDS) bench/order.sh
	bench/basket.sh

check: needs format vet ## format, vet, the rules of the repository, samples beside numpy, and what is still from memory
	@cd internal/policy && $(GO) test -count=1 -run '^TestSourcesFromMemory$$' -args -list-memory | sed '/^PASS$$/d; /^ok/d'
	$(GO) test -count=1 ./internal/policy
	$(GO) test -count=1 -run 'AgainstNumpy|AgreesWithReferences|AgainstUncertainties' ./formula

fuzz: ## fuzz every target in FUZZ="quantity pack journal" for FUZZTIME=60s each
	@grep -rHo --include='*_test.go' '^func Fuzz[A-Za-z0-9_]*' $(FUZZ) | sort | sed 's/:func / /' | while read -r file name; do \
		echo "== $$(dirname "$$file") $$name, $(FUZZTIME)"; \
		log=$$(mktemp); \
		if ! $(GO) test "./$$(dirname "$$file")" -run '^$$' -fuzz "^$$name\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 5x </dev/null 2>&1 | tee "$$log"; then \
			: 'The fuzzer now and then ends on its own deadline and calls that a failure; a real one names its input.'; \
			grep -q 'context deadline exceeded' "$$log" && ! grep -q 'Failing input' "$$log" || { rm -f "$$log"; exit 1; }; \
			echo "$$name: the fuzzer stopped on its own deadline; no input failed"; \
		fi; \
		rm -f "$$log"; \
	done

golden: ## write expected outputs and pictures of the pages anew; look at every difference before it is committed
	$(GO) test -count=1 $$(grep -rl --include='*_test.go' 'flag.Bool("update"' . | xargs -n1 dirname | sort -u) -update

torture: ## kill the store while it writes, KILLS=1000 times; routes from 1000 random states of the demo job; the server under SEQUENCES=200 outboxes; 20 phones for two minutes; then everything under the race detector
	BUTTONUP_TORTURE_ROUNDS=$(KILLS) $(GO) test -count=1 -shuffle=on -timeout 60m ./journal/... ./internal/store/...
	BUTTONUP_TORTURE_WALKS=1000 $(GO) test -count=1 -timeout 60m -run RandomStates ./assess
	BUTTONUP_TORTURE_SEQUENCES=$(SEQUENCES) BUTTONUP_TORTURE_LOAD=120 BUTTONUP_TORTURE_RESULT=$(CURDIR)/docs/network-results.md $(GO) test -count=1 -timeout 60m -run 'OutboxTorture|ManyPhones' ./internal/web
	@if [ "$$($(GO) env CGO_ENABLED)" = 1 ] && command -v "$$($(GO) env CC)" >/dev/null; then \
		echo '$(GO) test -race -shuffle=on ./...'; $(GO) test -race -shuffle=on -timeout 60m ./...; \
	else \
		echo 'The race detector needs a C compiler, and there is none: that part did not run.' >&2; exit 1; \
	fi

docs: ## write the reference of every package as text to dist/docs, after proving that docs/ is whole
	$(GO) test -count=1 ./internal/policy -run 'Documented|Pages|Words|Decisions|Functions'
	@mkdir -p dist && echo '*' > dist/.gitignore && rm -rf dist/docs && mkdir -p dist/docs
	@for p in $$($(GO) list -f '{{if .GoFiles}}{{.ImportPath}}{{end}}' ./... | grep -v '^buttonup/internal/\|^buttonup/cmd/'); do \
		$(GO) doc -all "$$p" > "dist/docs/$$(echo "$$p" | tr / -).txt"; \
	done
	@cp README.md docs/*.md dist/docs/ && cp -r docs/decisions docs/sources dist/docs/
	@echo "dist/docs: $$(find dist/docs -type f | wc -l) files"

release: format vet ## cross-build to dist/ with SHA256SUMS; STRICT=1 refuses while a source is from memory
ifdef STRICT
	cd internal/policy && $(GO) test -count=1 -run '^TestSourcesFromMemory$$' -args -forbid-memory
endif
	@mkdir -p dist && echo '*' > dist/.gitignore && rm -f dist/buttonup-* dist/SHA256SUMS
	@for target in $(PLATFORMS); do \
		system=$${target%/*} machine=$${target#*/} ending=; \
		[ $$system != windows ] || ending=.exe; \
		out=dist/buttonup-$(VERSION)-$$system-$$machine$$ending; \
		CGO_ENABLED=0 GOOS=$$system GOARCH=$$machine $(GO) build -trimpath -ldflags '-s -w -X buttonup/internal/cli.Version=$(VERSION)' -o "$$out" ./cmd/buttonup; \
		echo "$$out $$(( $$(wc -c < "$$out") / 1000000 )) MB"; \
	done
	@cd dist && if command -v sha256sum >/dev/null; then sha256sum buttonup-*; else shasum -a 256 buttonup-*; fi > SHA256SUMS && cat SHA256SUMS

# The steps that the targets above are made of.

# GNU units, python3-uncertainties and python3-scipy are outside checks: programs that share no code
# with this one, strace sees whether an append reaches the disk, poppler-utils and qpdf read our PDF and
# openssl checks our signatures. Chromium and what drives it show the pages as a builder sees them. Without
# them their tests fail rather than pass by not running.
needs:
	@missing=; \
	command -v units >/dev/null || missing="$$missing units"; \
	python3 -c 'import uncertainties' 2>/dev/null || /usr/bin/python3 -c 'import uncertainties' 2>/dev/null || missing="$$missing python3 python3-uncertainties"; \
	python3 -c 'import scipy' 2>/dev/null || /usr/bin/python3 -c 'import scipy' 2>/dev/null || missing="$$missing python3-scipy"; \
	python3 -c 'import openpyxl' 2>/dev/null || /usr/bin/python3 -c 'import openpyxl' 2>/dev/null || missing="$$missing python3-openpyxl"; \
	[ "$$(uname)" != Linux ] || command -v strace >/dev/null || missing="$$missing strace"; \
	command -v pdftotext >/dev/null || missing="$$missing poppler-utils"; \
	command -v qpdf >/dev/null || missing="$$missing qpdf"; \
	command -v zbarimg >/dev/null || missing="$$missing zbar-tools"; \
	command -v openssl >/dev/null || missing="$$missing openssl"; \
	[ -x "$${BUTTONUP_CHROMIUM:-/usr/bin/chromium}" ] || missing="$$missing chromium"; \
	command -v node >/dev/null || missing="$$missing nodejs"; \
	command -v npm >/dev/null || missing="$$missing npm"; \
	command -v certutil >/dev/null || missing="$$missing libnss3-tools"; \
	command -v cbc >/dev/null || missing="$$missing coinor-cbc"; \
	command -v glpsol >/dev/null || missing="$$missing glpk-utils"; \
	if [ -z "$$missing" ] || [ "$${BUTTONUP_WITHOUT_REFERENCES:-}" = 1 ]; then exit 0; fi; \
	echo "The tests use programs that are not here:$$missing"; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
		if (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$missing) >&2; then exit 0; fi; \
		echo "They could not be installed." >&2; \
	fi; \
	echo "Install them (Debian and its kin: sudo apt-get install$$missing) and run make test again," >&2; \
	echo "or set BUTTONUP_WITHOUT_REFERENCES=1 to go without the checks that use them." >&2; \
	exit 1
	@if [ "$${BUTTONUP_WITHOUT_REFERENCES:-}" = 1 ] || cmp -s internal/web/browser/package-lock.json internal/web/browser/node_modules/.lock; then exit 0; fi; \
	npm ci --no-audit --no-fund --prefix internal/web/browser && cp internal/web/browser/package-lock.json internal/web/browser/node_modules/.lock

# Generated files are committed, so that a clean checkout builds without a generator.
fresh:
	$(GO) test -count=1 ./pack/fromtable -run '^TestCommittedPacks$$'
	@pages() { find . -name '*_templ.go' | sort | xargs -r cat | cksum; }; \
	if [ -z "$$(find . -name '*.templ' -print -quit)" ]; then exit 0; fi; \
	before=$$(pages); echo '$(GO) tool -modfile=tools.mod templ generate'; \
	$(GO) tool -modfile=tools.mod templ generate; \
	if [ "$$before" != "$$(pages)" ]; then echo 'The generated pages were stale. They have been written anew: look at them and commit them.' >&2; exit 1; fi

format:
	@bad=$$(gofmt -l .); if [ -n "$$bad" ]; then echo 'These files are not formatted; run gofmt -w on them:' >&2; echo "$$bad" >&2; exit 1; fi

vet:
	$(GO) vet ./...

build:
	CGO_ENABLED=0 $(GO) build -o bin/buttonup ./cmd/buttonup
