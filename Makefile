# Two commands matter: `make run` and `make test`. Both install what they need.

TAGS := migrated_fynedo,sqlite_fts5,no_emoji,no_animations
GO   := go
export LANG := en_US.UTF-8
export CGO_ENABLED := 1
# For every command alike: a flag of one alone would have the C parts compiled twice.
export GOFLAGS := $(filter-out -trimpath,$(shell $(GO) env GOFLAGS)) -trimpath

# What the build needs beyond git, make, Go and a C compiler: Fyne's OpenGL and X11
# headers, and libjpeg-turbo.
BUILD_PACKAGES := libc6-dev pkg-config libgl1-mesa-dev xorg-dev libxkbcommon-dev libturbojpeg0-dev libjpeg62-turbo-dev libheif-dev libasound2-dev
# What the tests need as well: a screen of their own and hands to type on it.
TEST_PACKAGES := $(BUILD_PACKAGES) xvfb xauth libgl1-mesa-dri xdotool imagemagick strace libimage-exiftool-perl exiv2 poppler-utils

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
	$(MAKE) vulns

# The database of known vulnerabilities comes as a Go module. A fixed day's, so that what
# passed once passes again; `make vulns VULNDB=latest` looks at today's.
VULNDB := v0.0.0-20261105234957-e22db6528018
.PHONY: vulns
vulns:
	@mkdir -p out; db=$$($(GO) mod download -json golang.org/x/vulndb@$(VULNDB) | sed -n 's/^\t"Dir": "\(.*\)",$$/\1/p'); \
	echo "govulncheck against $$db"; \
	$(GO) tool govulncheck -format json -tags $(TAGS) -db "file://$$db/data/osv" ./... > out/vulns.json && $(GO) run ./cmd/vulns < out/vulns.json

# Measures everything that has a budget, beside references in the same run, and prints a table
# of what was asked and what was measured. Kept in out/bench by day and commit;
# `$(GO) run ./cmd/budgets --compare OLD NEW` puts two of them side by side.
COMMIT = $(shell git describe --always --dirty)
BENCH  = out/bench/$(shell date +%Y-%m-%d)-$(COMMIT).txt
.PHONY: bench
bench: test-packages
	$(GO) build -o bin/budgets ./cmd/budgets
	STILLBENCH_SMOKE=1 xvfb-run -a -s "-screen 0 1600x1000x24" \
		$(GO) test -tags $(TAGS) -run '^$$' -bench . -benchtime 3x -timeout 90m ./session/... ./exifread/... ./store/... ./app ./cmd/stillbench 2>&1 | bin/budgets --commit $(COMMIT) $(BENCH)

# The long form of the tests that kill the program and drop damaged files, with other
# random numbers every time.
.PHONY: torture
torture: test-packages
	$(GO) test -count=1 -v -tags $(TAGS) -timeout 60m -run 'TestKilled|TestDamaged' ./cmd/stillbench -torture

# Two hours of shooting, compressed in time, with the window open.
.PHONY: soak
soak: test-packages
	xvfb-run -a -s "-screen 0 1600x1000x24" $(GO) test -count=1 -v -tags $(TAGS) -timeout 60m -run TestSoak ./cmd/stillbench -soak

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
	install -Dm644 assets/desktop/stillbench.desktop $(DESTDIR)$(PREFIX)/share/applications/stillbench.desktop
	install -Dm644 assets/icons/stillbench.svg $(DESTDIR)$(PREFIX)/share/icons/hicolor/scalable/apps/stillbench.svg
	for n in 16 24 32 48 64 128 256 512; do \
		install -Dm644 assets/icons/stillbench-$$n.png $(DESTDIR)$(PREFIX)/share/icons/hicolor/$${n}x$$n/apps/stillbench.png || exit 1; \
	done
	install -Dm644 LICENSE $(DESTDIR)$(PREFIX)/share/doc/stillbench/copyright
	cat assets/fonts/LICENCE.txt >> $(DESTDIR)$(PREFIX)/share/doc/stillbench/copyright
	install -Dm644 README.md $(DESTDIR)$(PREFIX)/share/doc/stillbench/README.md

# A tarball and a .deb in out/, named by the commit they are made of. What the .deb depends
# on is read from the program itself.
VERSION = $(shell git show -s --format=0.1~%cd.%h --date=format:%Y%m%d)
ARCH = $(shell dpkg --print-architecture)
.PHONY: package
package: build
	@.ci/packages dpkg-dev
	rm -rf out/package && mkdir -p out/package/debian
	$(MAKE) install DESTDIR=out/package/root PREFIX=/usr
	tar -C out/package/root/usr --owner=0 --group=0 --sort=name --mtime=@$(shell git show -s --format=%ct) -czf out/stillbench-$(VERSION)-linux-$(ARCH).tar.gz .
	printf 'Source: stillbench\n\nPackage: stillbench\nArchitecture: any\n' > out/package/debian/control
	mkdir -p out/package/root/DEBIAN
	cd out/package && printf 'Package: stillbench\nVersion: %s\nArchitecture: %s\nMaintainer: the Stillbench project <stillbench@localhost>\nSection: graphics\nPriority: optional\nDepends: %s\nRecommends: libheif1\nInstalled-Size: %s\nDescription: stands beside the camera while focus stacks are shot\n Watches the folder in which the pictures arrive, groups frames into stacks, says\n whether a stack is whole, keeps a log of the light, and blends.\n' \
		'$(VERSION)' '$(ARCH)' "$$(dpkg-shlibdeps -O root/usr/bin/stillbench 2>/dev/null | sed 's/^shlibs:Depends=//')" "$$(du -sk root/usr | cut -f1)" > root/DEBIAN/control
	dpkg-deb --root-owner-group --build out/package/root out/stillbench_$(VERSION)_$(ARCH).deb
	rm -rf out/package

# Two clones in two folders must give one program, to the byte.
.PHONY: reproducible
reproducible: build-packages
	rm -rf out/twice && git clone -q . out/twice/a && git clone -q . out/twice/b/b
	for d in a b/b; do (cd out/twice/$$d && $(GO) build -tags $(TAGS) -o bin/stillbench ./cmd/stillbench) || exit 1; done
	cmp out/twice/a/bin/stillbench out/twice/b/b/bin/stillbench
	rm -rf out/twice

.PHONY: build-packages
build-packages:
	@.ci/packages $(BUILD_PACKAGES)

.PHONY: test-packages
test-packages:
	@.ci/packages $(TEST_PACKAGES)

.PHONY: clean
clean:
	rm -rf bin out
