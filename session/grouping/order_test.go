package grouping

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// taken is a frame of the invented camera M2 at so many seconds after ten o'clock; a
// negative number means no time.
func taken(name string, seconds float64) session.Frame {
	f := session.Frame{Name: name, Fingerprint: name, Meta: session.Meta{Make: "Ardent", Model: "Ardent M2"}}
	if seconds >= 0 {
		f.Meta.Taken = time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC).Add(time.Duration(seconds * 1e9))
	}
	return f
}

func names(frames []session.Frame) string {
	var out []string
	for _, f := range frames {
		out = append(out, strings.TrimSuffix(f.Name, ".JPG"))
	}
	return strings.Join(out, " ")
}

func TestOrder(t *testing.T) {
	other := func(f session.Frame) session.Frame { f.Meta.Serial = "77"; return f }
	first := func(f session.Frame) session.Frame { f.Meta.Serial = "12"; return f }
	cases := []struct {
		what   string
		frames []session.Frame
		want   string
	}{
		{"by time", []session.Frame{taken("B", 2), taken("A", 3), taken("C", 1)}, "C B A"},
		{"fractions of a second count", []session.Frame{taken("A", 1.34), taken("B", 1.12)}, "B A"},
		{"equal times go by the counter", []session.Frame{taken("A0010.JPG", 5), taken("A0009.JPG", 5), taken("A0011.JPG", 5)}, "A0009 A0010 A0011"},
		{"the counter rolls over at equal times", []session.Frame{taken("A0001.JPG", 5), taken("A9999.JPG", 5), taken("A9998.JPG", 4)}, "A9998 A9999 A0001"},
		{"the counter rolls over without times", []session.Frame{taken("A0001.JPG", -1), taken("A0002.JPG", -1), taken("A9998.JPG", -1), taken("A9999.JPG", -1)}, "A9998 A9999 A0001 A0002"},
		{"the counter rolls over in a long session", []session.Frame{taken("A0001.JPG", -1), taken("A2400.JPG", -1), taken("A8000.JPG", -1), taken("A9999.JPG", -1)}, "A8000 A9999 A0001 A2400"},
		{"a counter that did not go round", []session.Frame{taken("A0001.JPG", -1), taken("A0002.JPG", -1), taken("A9000.JPG", -1)}, "A0001 A0002 A9000"},
		{"the counter rolls over into a second folder at equal times", []session.Frame{taken("101/A0001.JPG", 5), taken("100/A9999.JPG", 5), taken("101/A0002.JPG", 6)}, "100/A9999 101/A0001 101/A0002"},
		{"a frame without a time stands by its name", []session.Frame{taken("A0001.JPG", 1), taken("A0002.JPG", -1), taken("A0003.JPG", 3)}, "A0001 A0002 A0003"},
		{"numbers are numbers", []session.Frame{taken("p10.JPG", -1), taken("p9.JPG", -1)}, "p9 p10"},
		{"two bodies are merged by their clocks", []session.Frame{first(taken("A1", 1)), other(taken("B1", 2)), first(taken("A2", 3))}, "A1 B1 A2"},
		{"nothing", nil, ""},
	}
	for _, c := range cases {
		if got := names(Order(c.frames)); got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
}

// The clock was set back by an hour between two frames; the counter ran on.
func TestOrderWhenTheClockRunsBackwards(t *testing.T) {
	var frames []session.Frame
	for i := range 40 {
		at := 7200 + 4*float64(i)
		if i >= 25 {
			at -= 3600
		}
		frames = append(frames, taken(fmt.Sprintf("A%04d.JPG", i+100), at))
	}
	shuffled := slices.Clone(frames)
	slices.Reverse(shuffled)
	if got := names(Order(shuffled)); got != names(frames) {
		t.Errorf("the counter was not believed: %s", got)
	}
	// It ran on into a second folder.
	for i := range frames {
		frames[i].Name = fmt.Sprintf("%d/%s", 100+i/20, frames[i].Name)
	}
	shuffled = slices.Clone(frames)
	slices.Reverse(shuffled)
	if got := names(Order(shuffled)); got != names(frames) {
		t.Errorf("the counter was not believed through two folders: %s", got)
	}
	// Copies in a second folder have the times of the frames; the clock never ran back.
	var both, want []session.Frame
	for i := range 20 {
		a, b := taken(fmt.Sprintf("A%04d.JPG", i+100), 4*float64(i)), taken(fmt.Sprintf("copies/A%04d.JPG", i+100), 4*float64(i))
		both = append(both, b)
		want = append(want, a, b)
	}
	for i := range 20 {
		both = append(both, want[2*i])
	}
	if got := names(Order(both)); got != names(want) {
		t.Errorf("copies: %s", got)
	}
	// Names that are no counter of one camera say nothing about the order.
	renamed := []session.Frame{taken("cone.JPG", 50), taken("shell.JPG", 10), taken("pod.JPG", 30)}
	if got := names(Order(renamed)); got != "shell pod cone" {
		t.Errorf("names that are words were believed: %s", got)
	}
}

// One clock writes its offset and the other does not: the readings are compared.
func TestOrderMixesOffsetsByReading(t *testing.T) {
	a, b := taken("A", 10), taken("B", 20)
	a.Meta.Taken = time.Date(2026, 5, 2, 10, 0, 10, 0, time.FixedZone("", 2*3600))
	a.Meta.TakenHasOffset = true
	if got := names(Order([]session.Frame{b, a})); got != "A B" {
		t.Errorf("order %s", got)
	}
}

func TestOrderLeavesItsArgumentAlone(t *testing.T) {
	in := []session.Frame{taken("B", 2), taken("A", 1)}
	Order(in)
	if in[0].Name != "B" {
		t.Error("the slice given was sorted")
	}
}
