# Two commands matter: `make run` and `make test`. Both install what they need.

TAGS := migrated_fynedo,sqlite_fts5,no_emoji
GO   := go
export LANG := en_US.UTF-8
export CGO_ENABLED := 1
# For every command alike: a flag of one alone would have the C parts compiled twice.
export GOFLAGS := $(filter-out -trimpath,$(shell $(GO) env GOFLAGS)) -trimpath

# What the build needs beyond git, make, Go and a C compiler: Fyne's OpenGL and X11
# headers, and libjpeg-turbo.
BUILD_PACKAGES := libc6-dev pkg-config libgl1-mesa-dev xorg-dev libxkbcommon-dev libturbojpeg0-dev libheif-dev
# What the tests need as well: a screen of their own and hands to type on it.
TEST_PACKAGES := $(BUILD_PACKAGES) xvfb xauth libgl1-mesa-dri xdotool imagemagick strace libimage-exiftool-perl exiv2

RACE := ./session/desk ./session/watch ./store
FUZZ := 20m

.PHONY: run
run: build
	./bin/stillbench demo

.PHONY: build
build: build-packages
	$(GO) build -tags $(TAGS) -o bin/stillbench ./cmd/stillbench

.PHONY: test
test: test-packages
	$(MAKE) -j2 --output-sync=target lint race
	$(GO) build -tags $(TAGS) -o bin/stillbench ./cmd/stillbench
	$(GO) test -tags $(TAGS) ./...
	$(MAKE) smoke

# Where goroutines meet. The race detector looks at Go alone: SQLite, which has to be
# compiled once more for it, need not be compiled well.
.PHONY: race
race:
	CGO_CFLAGS=-O0 $(GO) test -race -short -tags $(TAGS) $(RACE)

# The real window, under a screen of its own, driven by real pointer and key events.
.PHONY: smoke
smoke:
	STILLBENCH_SMOKE=1 xvfb-run -a -s "-screen 0 1600x1000x24" $(GO) test -count=1 -tags $(TAGS) -run TestRealWindow ./cmd/stillbench

.PHONY: lint
lint:
	@out=$$(gofmt -l app assets cmd exifread session store); if [ -n "$$out" ]; then echo "not gofmt'ed:"; echo "$$out"; exit 1; fi
	$(GO) vet -tags $(TAGS) ./...
	$(GO) tool staticcheck -tags $(TAGS) ./...

# Prints every figure as a ratio to a reference measured in the same run.
.PHONY: bench
bench: test-packages
	$(GO) test -tags $(TAGS) -run '^$$' -bench . -benchtime 3x -timeout 60m ./session/... ./exifread/... ./store/... ./cmd/...

# The long form of the tests that kill the program and drop damaged files, with other
# random numbers every time.
.PHONY: torture
torture: test-packages
	$(GO) test -count=1 -v -tags $(TAGS) -timeout 60m -run 'TestKilled|TestDamaged' ./cmd/stillbench -torture

# Every fuzz target for FUZZ each, one after the other.
.PHONY: fuzz
fuzz:
	@for p in $$($(GO) list -tags $(TAGS) ./...); do \
		for f in $$($(GO) test -tags $(TAGS) -list '^Fuzz' $$p | grep '^Fuzz'); do \
			echo "$$p $$f"; $(GO) test -tags $(TAGS) -run '^$$' -fuzz "^$$f\$$" -fuzztime $(FUZZ) $$p || exit 1; \
		done; \
	done

PREFIX ?= /usr/local
.PHONY: install
install: build
	install -Dm755 bin/stillbench $(DESTDIR)$(PREFIX)/bin/stillbench

.PHONY: build-packages
build-packages:
	@.ci/packages $(BUILD_PACKAGES)

.PHONY: test-packages
test-packages:
	@.ci/packages $(TEST_PACKAGES)

.PHONY: clean
clean:
	rm -rf bin out
