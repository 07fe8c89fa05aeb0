package watch

import (
	"math/rand/v2"
	"slices"
	"testing"
)

func TestCompareOrdersAsPeopleDo(t *testing.T) {
	sorted := []string{
		"1.JPG", "01.JPG.2", "2/A1.JPG", "10.JPG",
		"100A/B1.JPG", "100A/b2.jpg", "100A/B10.JPG", "100A/sub/B1.JPG",
		"101A/B0001.JPG", "101A/B1.JPG", "101A/B9999.JPG",
		"a.jpg", "B.JPG", "b.jpg",
		"z99999999999999999999999998.JPG", "z99999999999999999999999999.JPG", "é.JPG",
	}
	for i, a := range sorted {
		for j, b := range sorted {
			if got := Compare(a, b); got != sign(i-j) {
				t.Errorf("Compare(%q, %q) = %d", a, b, got)
			}
		}
	}
	mixed := slices.Clone(sorted)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	slices.SortFunc(mixed, Compare)
	want(t, mixed, sorted...)
}

func TestPairKeyJoinsOneNameWithDifferentEndings(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"A1.JPG", "A1.CR2", true},
		{"x/A1.JPG", "x/a1.dng", true},
		{"x/A1.JPG", "y/A1.JPG", false},
		{"x/A1.JPG", "X/A1.JPG", false}, // two folders where the file system says so
		{"A1.JPG", "A1-2.JPG", false},
		{"A1.b.JPG", "A1.c.JPG", false},
	} {
		if got := PairKey(c.a) == PairKey(c.b); got != c.same {
			t.Errorf("PairKey of %s and %s same: %v", c.a, c.b, got)
		}
	}
	if got := Stem("100A.x/B0001.JPG"); got != "100A.x/B0001" {
		t.Errorf("Stem: %s", got)
	}
}
