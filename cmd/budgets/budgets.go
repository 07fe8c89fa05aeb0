package main

import "fmt"

// budget is one figure that an issue asks for.
type budget struct {
	issue string // its title's number
	what  string
	limit float64
	least bool // the limit is the least, not the most
	unit  string
	value func(figures) (float64, bool)
	// beside is the figure as a ratio to that of a reference in the same run; nil for none.
	beside    func(figures) (float64, bool)
	reference string
}

func (b budget) within(v float64) bool {
	if b.least {
		return v >= b.limit
	}
	return v <= b.limit
}

func (b budget) sign() string {
	if b.least {
		return "at least"
	}
	return "at most"
}

func (b budget) number(v float64) string { return fmt.Sprintf("%.3g %s", v, b.unit) }

// of gives a figure, times k.
func of(name, unit string, k float64) func(figures) (float64, bool) {
	return func(f figures) (float64, bool) {
		v, ok := f[name+" "+unit]
		return v * k, ok
	}
}

// ratio gives one figure over another.
func ratio(a, b func(figures) (float64, bool)) func(figures) (float64, bool) {
	return func(f figures) (float64, bool) {
		x, xok := a(f)
		y, yok := b(f)
		return x / y, xok && yok && y != 0
	}
}

const (
	perMS = 1e-6             // milliseconds in a nanosecond
	perGB = (1 << 20) * 1e-9 // gigabytes in a mebibyte
)

var (
	ourFiles = of("BenchmarkThousandFiles/exifread", "files/s", 1)
	joined   = "BenchmarkJoin/30_frames"
	bigLog   = "BenchmarkBigLog/"
	tenYears = "BenchmarkTenYears"

	quietStall = of("BenchmarkWindow", "ms-longest-stall-when-quiet", 1)
)

// budgets are all figures with a limit, in the order of the issues. Aims of quality that a
// benchmark reports stand here too.
var budgets = []budget{
	{issue: "2.", what: "metadata of 1 000 files, against ExifTool -fast2", limit: 20, least: true, unit: "x",
		value: ratio(ourFiles, of("BenchmarkThousandFiles/exiftool", "files/s", 1))},
	{issue: "2.", what: "the same, against exiv2", limit: 1, least: true, unit: "x",
		value: ratio(ourFiles, of("BenchmarkThousandFiles/exiv2", "files/s", 1))},
	{issue: "3.", what: "a grouping pass over 1 000 known frames", limit: 50, unit: "ms", value: of("BenchmarkGroup1000/again", "ns/op", perMS)},
	{issue: "3.", what: "the first such pass after opening", limit: 50, unit: "ms", value: of("BenchmarkGroup1000/first_time", "ns/op", perMS)},
	{issue: "3.", what: "a new frame of 45 megapixels, decoded and measured", limit: 250, unit: "ms", value: of("BenchmarkNewFrame", "ns/op", perMS)},
	{issue: "4.", what: "such a frame joins a stack of 30, with the verdict", limit: 1, unit: "s", value: of(joined, "s/frame", 1),
		beside: of(joined, "x-turbo-alone", 1), reference: "libjpeg-turbo alone"},
	{issue: "4.", what: "memory for that", limit: 600, unit: "MB", value: of(joined, "peak-MB", 1)},
	{issue: "4.", what: "gaps found in made-up stacks", limit: 0.97, least: true, value: of("BenchmarkVerdict", "gap-recall", 1)},
	{issue: "4.", what: "“covered” said of a stack with a gap", limit: 0.01, value: of("BenchmarkVerdict", "wrongly-covered", 1)},
	{issue: "4.", what: "order of frames by depth", limit: 0.99, least: true, value: of("BenchmarkVerdict", "order-correlation", 1)},
	{issue: "5.", what: "20 frames of 45 megapixels blended to a TIFF", limit: 1, unit: "x OpenCV", value: of("BenchmarkBlend", "of-OpenCV's-time", 1)},
	{issue: "5.", what: "memory for that", limit: 2.5, unit: "GB", value: of("BenchmarkBlend", "peak-MB", perGB),
		beside: ratio(of("BenchmarkBlend", "peak-MB", 1), of("BenchmarkBlend", "OpenCV-peak-MB", 1)), reference: "OpenCV"},
	{issue: "5.", what: "memory for 20 frames, against 5", limit: 1.1, unit: "x", value: ratio(of("BenchmarkBlend", "peak-MB", 1), of("BenchmarkBlend", "peak-MB-of-5-frames", 1))},
	{issue: "7.", what: "100 000 setups: words and two filters, 99th percentile", limit: 15, unit: "ms", value: of(bigLog+"words_and_two_filters", "p99-ms", 1),
		beside: of(bigLog+"words_and_two_filters", "p99-x-plain-SQL", 1), reference: "plain SQL"},
	{issue: "7.", what: "as you type, median", limit: 5, unit: "ms", value: of(bigLog+"as_you_type", "p50-ms", 1),
		beside: of(bigLog+"as_you_type", "p50-x-plain-SQL", 1), reference: "plain SQL"},
	{issue: "7.", what: "opening the place", limit: 150, unit: "ms", value: of(bigLog+"first_look", "p50-ms", 1),
		beside: of(bigLog+"first_look", "p50-x-plain-SQL", 1), reference: "plain SQL"},
	{issue: "9.", what: "start to first picture, session of 1 000 frames", limit: 1.5, unit: "s", value: of("BenchmarkWindow", "s-to-first-picture", 1)},
	{issue: "9.", what: "memory of such a session", limit: 700, unit: "MB", value: of("BenchmarkWindow", "MB", 1)},
	{issue: "9.", what: "memory after it was read in at once", limit: 700, unit: "MB", value: of("BenchmarkWindow", "MB-after-reading-in", 1)},
	{issue: "9.", what: "idle", limit: 1, unit: "% of a core", value: of("BenchmarkWindow", "%-of-a-core-idle", 1)},
	{issue: "9.", what: "frames of 60 waited for, stepped through six a second", limit: 0, value: of("BenchmarkLeafing", "frames-waited-for-whole-leafing", 1)},
	{issue: "9.", what: "longest stall of the event loop while 500 frames come in at once", limit: 100, unit: "ms", value: of("BenchmarkWindow", "ms-longest-stall-all-at-once", 1),
		beside: ratio(of("BenchmarkWindow", "ms-longest-stall-all-at-once", 1), quietStall), reference: "when nothing comes"},
	{issue: "9.", what: "the same, while 500 come one by one", limit: 100, unit: "ms", value: of("BenchmarkWindow", "ms-longest-stall-one-by-one", 1),
		beside: ratio(of("BenchmarkWindow", "ms-longest-stall-one-by-one", 1), quietStall), reference: "when nothing comes"},
	{issue: "10.", what: "a log of ten years: find with words and two filters, the whole command", limit: 150, unit: "ms", value: of(tenYears, "ms-find", 1),
		beside: of(tenYears, "x-fresh-log-find", 1), reference: "a fresh log"},
	{issue: "10.", what: "the same: group, all frames known", limit: 1.5, unit: "x a fresh log", value: of(tenYears, "x-fresh-log-group", 1)},
	{issue: "10.", what: "the same: start to first picture", limit: 1.5, unit: "s", value: of(tenYears, "s-to-first-picture", 1)},
	{issue: "10.", what: "a session of 5 000 frames: to group it again, the whole command", limit: 1.5, unit: "s", value: of("BenchmarkLongSession", "s-to-group-again", 1)},
	{issue: "10.", what: "the same: memory while it is read in", limit: 700, unit: "MB", value: of("BenchmarkLongSession", "MB-reading-in", 1)},
	{issue: "10.", what: "the same: start to first picture", limit: 1.5, unit: "s", value: of("BenchmarkLongSession", "s-to-first-picture", 1)},
}
