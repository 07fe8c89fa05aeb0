package watch

import (
	"path"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Compare orders paths as people do: folder by folder, letters without regard to
// case, runs of digits as numbers (A9.JPG before A10.JPG). Paths that differ in
// nothing else are ordered by their bytes, so that the order is total. It knows
// nothing of a counter that rolls over from 9999 to 0001: only the time of capture
// tells that, and the caller decides by it.
func Compare(a, b string) int {
	for x, y := a, b; ; {
		xs, xrest, xmore := strings.Cut(x, "/")
		ys, yrest, ymore := strings.Cut(y, "/")
		if c := compareName(xs, ys); c != 0 {
			return c
		}
		switch {
		case !xmore && !ymore:
			return strings.Compare(a, b)
		case !xmore:
			return -1
		case !ymore:
			return 1
		}
		x, y = xrest, yrest
	}
}

func compareName(a, b string) int {
	for a != "" && b != "" {
		if isDigit(a[0]) && isDigit(b[0]) {
			var x, y string
			x, a = digits(a)
			y, b = digits(b)
			if len(x) != len(y) {
				return sign(len(x) - len(y))
			}
			if c := strings.Compare(x, y); c != 0 {
				return c
			}
			continue
		}
		x, n := utf8.DecodeRuneInString(a)
		y, m := utf8.DecodeRuneInString(b)
		if x, y = unicode.ToLower(x), unicode.ToLower(y); x != y {
			return sign(int(x) - int(y))
		}
		a, b = a[n:], b[m:]
	}
	return sign(len(a) - len(b))
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// digits cuts the number at the front of s off, without its leading zeros.
func digits(s string) (number, rest string) {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return strings.TrimLeft(s[:n], "0"), s[n:]
}

func sign(n int) int {
	switch {
	case n < 0:
		return -1
	case n > 0:
		return 1
	}
	return 0
}

// Stem is a path without its ending: "100A/B0001.JPG" gives "100A/B0001".
func Stem(p string) string { return strings.TrimSuffix(p, path.Ext(p)) }

// PairKey is equal for files of the same folder whose names differ only in their
// ending or in case. DCF (CIPA DC-009, "DCF objects") makes such files one object.
func PairKey(p string) string {
	dir, name := path.Split(p)
	return dir + strings.ToLower(Stem(name))
}
