package desk

import (
	"slices"
	"testing"
	"time"

	"stillbench/session"
)

// A RAW and a JPEG of one exposure share folder and name (DCF, CIPA DC-009): one frame,
// named by the RAW. A counter that came round again gives the name a second time.
func TestExposures(t *testing.T) {
	at := time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)
	f := func(path, container, fp string, taken time.Time) *file {
		return &file{path: path, fingerprint: fp, meta: session.Meta{Container: container, Taken: taken}}
	}
	shown := exposuresOf([]*file{
		f("a/VTX_0001.JPG", "jpeg", "1j", at),
		f("a/VTX_0001.CR3", "cr3", "1r", at),
		f("b/VTX_0001.JPG", "jpeg", "2j", at),
		f("a/VTX_0002.jpg", "jpeg", "3j", at.Add(time.Minute)),
		f("a/vtx_0002.dng", "dng", "3r", time.Time{}),
		f("a/VTX_0003.JPG", "jpeg", "4j", at.Add(24*time.Hour)),
		f("a/VTX_0003.NEF", "nef", "4r", at.Add(2*time.Minute)),
		f("copy/VTX_0003.NEF", "nef", "4r", at.Add(2*time.Minute)),
		{path: "a/bad.JPG", problem: session.Say("broken")},
	})
	got := map[string][]string{}
	for _, fr := range shown.frames {
		got[fr.Name] = fr.Pairs
	}
	want := map[string][]string{
		"a/VTX_0001.CR3": {"a/VTX_0001.JPG"},
		"b/VTX_0001.JPG": nil,
		"a/vtx_0002.dng": {"a/VTX_0002.jpg"},
		"a/VTX_0003.NEF": nil,
		"a/VTX_0003.JPG": nil,
	}
	if len(got) != len(want) {
		t.Errorf("frames %v, want %v", got, want)
	}
	for name, pairs := range want {
		if p, ok := got[name]; !ok || !slices.Equal(p, pairs) {
			t.Errorf("%s: pairs %v, want %v", name, p, pairs)
		}
	}
	if shown.alias["1j"] != "1r" || shown.alias["3j"] != "3r" || shown.alias["4j"] != "" {
		t.Errorf("who stands for whom: %v", shown.alias)
	}
	if c := shown.copies["a/VTX_0003.NEF"]; !slices.Equal(c, []string{"copy/VTX_0003.NEF"}) {
		t.Errorf("copies: %v", shown.copies)
	}
}
