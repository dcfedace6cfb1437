# make demo    a colony to look at
# make test    everything that must hold, in under fifteen minutes on two cores

GO      ?= go
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo development)
FUZZ    ?= 1m
say      = @printf '\n== %s\n'

.PHONY: build demo test lint race proof bench clean tools
.NOTPARALLEL:

build:
	$(GO) build -trimpath -ldflags '-X main.version=$(VERSION)' -o bin/haulout ./cmd/haulout

demo: build
	bin/haulout demo

test: tools lint
	$(say) 'tests: a line a package as it finishes, about ten minutes in all'
	$(GO) test -p 2 -timeout 14m ./...

lint:
	$(say) 'gofmt: no file may need it'
	@files=$$(gofmt -l api cmd events projections web); if [ -n "$$files" ]; then echo "$$files"; exit 1; fi
	$(say) 'trailing spaces: no file of code may have any'
	@! grep -rnI '[[:blank:]]$$' --include='*.go' --include='*.js' --include='*.css' --include='*.html' --include='*.sh' api cmd deploy events projections web
	$(say) 'node --check: the scripts that browsers run'
	@dir=$$(mktemp -d); trap 'rm -rf "$$dir"' EXIT; for file in web/static/*.js; do \
		cp "$$file" "$$dir/$$(basename "$$file" .js).mjs"; node --check "$$dir"/*.mjs || exit 1; rm "$$dir"/*.mjs; done
	$(say) 'go vet'
	$(GO) vet ./...
	$(say) 'staticcheck'
	$(GO) tool staticcheck ./...

# What many goroutines share, under the race detector.
race:
	$(say) 'race detector'
	HAULOUT_PROOF=20 $(GO) test -race -timeout 60m ./events ./events/journal ./projections

# What takes hours: as often as it is worth by hand or at night.
proof:
	$(say) 'fuzzing each target for $(FUZZ)'
	@set -e; for file in $$(grep -rl --include='*_test.go' '^func Fuzz' .); do \
		for name in $$(sed -n 's/^func \(Fuzz[A-Za-z0-9]*\).*/\1/p' "$$file"); do \
			echo "$$file $$name"; $(GO) test -run '^$$' -fuzz "^$$name$$" -fuzztime $(FUZZ) "./$$(dirname "$$file")"; \
		done; done
	$(say) 'a quarter of a million bad requests'
	HAULOUT_PROOF=250000 $(GO) test -timeout 2h -run TestBadRequestsNeverBreakTheNode ./api
	$(say) 'the law of the rows, 20,000 times each'
	HAULOUT_PROOF=20000 $(GO) test -timeout 24h ./projections/...
	$(say) 'the server killed 2,000 times'
	HAULOUT_PROOF=2000 $(GO) test -timeout 24h ./cmd/haulout

bench: build
	bin/haulout bench

clean:
	rm -rf bin .tools

# What the tests need and go does not bring, installed only where it is missing:
# a browser to drive, node to check scripts, axe-core to look for barriers.
# Without axe-core the accessibility test fails and says so.
tools:
	@need=; \
	command -v node >/dev/null && command -v npm >/dev/null || need="$$need nodejs npm"; \
	command -v chromium >/dev/null || command -v chromium-browser >/dev/null || command -v google-chrome >/dev/null || need="$$need chromium"; \
	[ -z "$$need" ] || { echo "== installing$$need"; as=; [ "$$(id -u)" = 0 ] || as=sudo; \
		$$as apt-get update -qq && $$as env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$need; }
	@[ -f .tools/node_modules/axe-core/axe.min.js ] || { echo '== installing axe-core'; \
		npm install --no-save --no-audit --no-fund --prefix .tools axe-core@4.14.1 || echo 'axe-core could not be had; the accessibility test will fail'; }
