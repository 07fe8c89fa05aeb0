// Package bench measures grouping on made-up sessions whose truth is known. It holds
// tests only. The recipe is in recipe_test.go; two thirds of the sessions are
// photographed on a stage of height fields with photographs for texture
// (render_test.go), one third on the modelled tabletops of package scene
// (tabletop_test.go).
//
//	go test ./session/grouping/bench                              two small sessions, all must be right
//	go test ./session/grouping/bench -full -v -timeout 90m        300 sessions, and what plain pauses make of them
//	go test ./session/grouping/bench -full -v -cache DIR -show 3  keeps figures in DIR, prints session 3 frame by frame
//	go test ./session/grouping/bench -full -v -run TestTuning     those for tuning alone
//
// The sessions with a seed below fresh, and those from 2000 on, are for tuning weights; the others
// are for reporting, and nobody looks at them one by one. Once somebody has, fresh goes up.
package bench

import (
	"cmp"
	"encoding/gob"
	"flag"
	"fmt"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"math"
	"math/rand/v2"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"

	"stillbench/session"
	"stillbench/session/grouping"
	"stillbench/session/plane"
)

var (
	full  = flag.Bool("full", false, "measure all sessions of the bench, not two small ones")
	cache = flag.String("cache", "", "`folder` in which the figures of made-up frames are kept from run to run")
	show  = flag.Int("show", -1, "print the session of this `seed` frame by frame")
)

// fresh is the first seed of the sessions for reporting; sessions is how many have seeds in a row.
const (
	fresh    = 1780
	sessions = 20
)

// load decodes pictures of the data that lies beside the repository, at most 1600 pixels
// wide.
func load(t *testing.T, pattern string) []*plane.RGB {
	names, err := filepath.Glob(filepath.Join("../../../../shared/data", pattern))
	if err != nil {
		t.Fatal(err)
	}
	if len(names) == 0 {
		t.Skipf("no %s beside the repository to make frames from", pattern)
	}
	slices.Sort(names)
	var out []*plane.RGB
	for _, n := range names {
		f, err := os.Open(n)
		if err != nil {
			t.Fatal(err)
		}
		img, _, err := image.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		p := plane.FromImage(img)
		if p.W > 1600 {
			p = plane.ReduceRGB(nil, p, 1600, p.H*1600/p.W)
		}
		out = append(out, p)
	}
	return out
}

// kept makes a session of 40 to 150 frames, or takes it from the cache.
func kept(t *testing.T, seed uint64, textures, hands []*plane.RGB) *made {
	m := &made{Seed: seed}
	if *cache != "" {
		if f, err := os.Open(m.path()); err == nil {
			defer f.Close()
			if gob.NewDecoder(f).Decode(m) == nil {
				return m
			}
		}
	}
	m = newSession(seed, 40+int(seed*37%111), textures, hands)
	m.keep(t)
	return m
}

func (m *made) path() string { return filepath.Join(*cache, fmt.Sprintf("session%d.gob", m.Seed)) }

// keep writes a session to the cache, if there is one.
func (m *made) keep(t *testing.T) {
	if *cache == "" {
		return
	}
	f, err := os.Create(m.path())
	if err != nil {
		t.Error(err)
		return
	}
	defer f.Close()
	if err := gob.NewEncoder(f).Encode(m); err != nil {
		t.Error(err)
	}
}

// score counts what was said right and wrong.
type score struct {
	sessions, right, frames, kinds int
	cutHit, cutFalse, cutMissed    int
	markHit, markFalse, markMissed int
	questions                      int
	asked                          int // sessions in which all that is wrong is asked about
	corrections                    int // until all is right, each of them teaching
}

// add scores one session; line, when not nil, is called with every frame in words.
func (s *score) add(m *made, groups []session.Group, line func(string)) (right bool) {
	of := map[string]*session.Group{}
	for i := range groups {
		for _, f := range groups[i].Frames {
			of[f] = &groups[i]
		}
		if groups[i].Question.Form != "" {
			s.questions++
		}
	}
	right = true
	for i, f := range m.Frames {
		t, g := m.Truth[i], of[f.Fingerprint]
		begins := g.Frames[0] == f.Fingerprint
		faults := ""
		switch cut := i == 0 || m.Truth[i-1].Group != t.Group; {
		case cut && begins:
			s.cutHit++
		case cut:
			s.cutMissed++
			faults += " SEAM MISSED"
		case begins:
			s.cutFalse++
			faults += " SEAM WRONG"
		}
		s.frames++
		if g.Kind == t.Kind {
			s.kinds++
		} else {
			faults += " KIND WRONG"
		}
		switch mark := g.Kind == session.KindMarker; {
		case mark && t.Kind == session.KindMarker:
			s.markHit++
		case mark:
			s.markFalse++
		case t.Kind == session.KindMarker:
			s.markMissed++
		}
		right = right && faults == ""
		if line != nil {
			l := fmt.Sprintf("%3d %s %-34s %-7s%s", i, f.Name, t.Note, g.Kind, faults)
			if begins {
				l += fmt.Sprintf(" [sure %.2f %s", g.Confidence, g.Question)
				if g.Seam != nil {
					l += fmt.Sprintf(" seam %.2f %v", g.Seam.Confidence, g.Seam.Reasons)
				}
				l += "]"
			}
			line(l)
		}
	}
	s.sessions++
	if right {
		s.right++
	}
	return right
}

func (s *score) String() string {
	share := func(a, b int) float64 { return 100 * float64(a) / float64(max(1, a+b)) }
	put := ""
	if s.corrections > 0 {
		put = fmt.Sprintf(", the others after %d corrections", s.corrections)
	}
	return fmt.Sprintf("sessions all right %d of %d%s, all right or asked about %d; seams: precision %.1f %%, recall %.1f %%; markers: precision %.1f %%, recall %.1f %%; kinds right %.1f %%; %.2f questions per 100 frames; %d frames",
		s.right, s.sessions, put, s.asked, share(s.cutHit, s.cutFalse), share(s.cutHit, s.cutMissed), share(s.markHit, s.markFalse), share(s.markHit, s.markMissed),
		100*float64(s.kinds)/float64(s.frames), 100*float64(s.questions)/float64(s.frames), s.frames)
}

// byPauses is what grouping is measured against: a new group wherever the pause is
// longer than so many times the session's median, three frames or more being a stack.
func byPauses(frames []session.Frame, times float64) []session.Group {
	gap := func(i int) float64 { return frames[i].Meta.Taken.Sub(frames[i-1].Meta.Taken).Seconds() }
	var gaps []float64
	for i := 1; i < len(frames); i++ {
		gaps = append(gaps, gap(i))
	}
	slices.Sort(gaps)
	limit := times * gaps[len(gaps)/2]
	var out []session.Group
	for i, f := range frames {
		if i == 0 || gap(i) > limit {
			out = append(out, session.Group{Kind: session.KindSingle})
		}
		g := &out[len(out)-1]
		if g.Frames = append(g.Frames, f.Fingerprint); len(g.Frames) >= 3 {
			g.Kind = session.KindStack
		}
	}
	return out
}

// corrections counts what a photographer has to put right by hand who goes through the
// session from its beginning, and again after every correction. asked tells whether the
// program had asked for each of them.
func (m *made) corrections() (n int, asked bool) {
	var edits []session.Edit
	asked = true
	for len(edits) < len(m.Frames) {
		groups := m.group(edits...)
		e, ok := m.fault(groups)
		if !ok {
			break
		}
		asked = asked && m.asks(groups, e)
		edits = append(edits, e)
	}
	return len(edits), asked
}

// asks reports whether one of the questions is answered by e: it is about that frame and about
// what e says of it.
func (m *made) asks(groups []session.Group, e session.Edit) bool {
	at := slices.IndexFunc(m.Frames, func(f session.Frame) bool { return f.Fingerprint == e.Frame })
	name := path.Base(m.Frames[at].Name)
	return slices.ContainsFunc(groups, func(g session.Group) bool {
		q := g.Question.String()
		switch e.Kind {
		case session.EditMark, session.EditUnmark:
			return q == "Is "+name+" a marker?"
		case session.EditSplit:
			return q == "One stack or two? Perhaps another begins at "+name+"."
		case session.EditJoin:
			return q == "One stack or two?" && g.Frames[0] == e.Frame
		case session.EditKindOf:
			return g.OrElse() == e.Group && slices.Contains(g.Frames, e.Frame)
		}
		return false
	})
}

// fault is what puts the first fault right; ok is false when there is none.
func (m *made) fault(groups []session.Group) (e session.Edit, ok bool) {
	of := map[string]*session.Group{}
	for i := range groups {
		for _, f := range groups[i].Frames {
			of[f] = &groups[i]
		}
	}
	for i, f := range m.Frames {
		t, g := m.Truth[i], of[f.Fingerprint]
		begins, cut := g.Frames[0] == f.Fingerprint, i == 0 || m.Truth[i-1].Group != t.Group
		e := session.Edit{Frame: f.Fingerprint}
		switch {
		case t.Kind == session.KindMarker && g.Kind != session.KindMarker:
			e.Kind = session.EditMark
		case t.Kind != session.KindMarker && g.Kind == session.KindMarker:
			e.Kind = session.EditUnmark
		case cut && !begins:
			e.Kind = session.EditSplit
		case !cut && begins:
			e.Kind = session.EditJoin
		case t.Kind != g.Kind:
			e.Kind, e.Group = session.EditKindOf, t.Kind
		default:
			continue
		}
		return e, true
	}
	return e, false
}

// group puts the frames in order, which come as a folder lists them, and groups them.
func (m *made) group(edits ...session.Edit) []session.Group {
	frames := slices.Clone(m.Frames)
	slices.SortFunc(frames, func(a, b session.Frame) int { return cmp.Compare(a.Name, b.Name) })
	return grouping.Group(grouping.Order(frames), edits, nil)
}

// metered is the session as a camera takes it that chooses the exposure: within a stack it wanders
// with the light by a third of a stop, and the pictures come out alike. Series of exposures stay as
// they are.
func (m *made) metered() *made {
	r := rand.New(rand.NewPCG(m.Seed, 31))
	out := &made{Seed: m.Seed, Frames: slices.Clone(m.Frames), Truth: m.Truth}
	for i, t := range m.Truth {
		if t.Kind == session.KindStack && t.Note != "stack: exposure series" {
			s := *m.Frames[i].Meta.ShutterSeconds * math.Exp2(float64(r.IntN(3)-1)/3)
			out.Frames[i].Meta.ShutterSeconds = &s
		}
	}
	return out
}

// TestSmall: two short sessions of the tuning half, one on each stage, come out with every seam and kind
// right, whether the exposure was set or the camera chose it.
func TestSmall(t *testing.T) {
	textures, hands := load(t, "photos/*.*"), load(t, "hands/*.jpg")
	for _, seed := range []uint64{5, 8} {
		set := newSession(seed, 4, textures, hands)
		for _, m := range []*made{set, set.metered()} {
			var s score
			var lines []string
			if !s.add(m, m.group(), func(l string) { lines = append(lines, l) }) {
				for _, l := range lines {
					t.Log(l)
				}
				t.Errorf("session %d: %v", seed, &s)
			}
		}
	}
}

// TestTuning prints how grouping does on the sessions that its weights were tuned on.
func TestTuning(t *testing.T) {
	measure(t, 0, 1000, 1100, 1120, 1200, 1220, 2000, 5000, 5020, 5100, 5120, 5200, 5300, 6000)
}

// TestReport prints how grouping does on sessions that nobody has looked at.
func TestReport(t *testing.T) { measure(t, fresh, fresh+sessions) }

// measure prints the score of the sessions with seeds from each of first on.
func measure(t *testing.T, first ...uint64) {
	if !*full {
		t.Skip("takes minutes; -full runs it")
	}
	textures, hands := load(t, "photos/*.*"), load(t, "hands/*.jpg")
	var seeds []uint64
	for _, f := range first {
		for i := range uint64(sessions) {
			seeds = append(seeds, f+i)
		}
	}
	all := make([]*made, len(seeds))
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				all[i] = kept(t, seeds[i], textures, hands)
			}
		})
	}
	for i := range all {
		next <- i
	}
	close(next)
	wg.Wait()

	var s, chosen score
	pauses := map[float64]*score{2: {}, 3: {}, 5: {}, 8: {}, 12: {}}
	for _, m := range all {
		var line func(string)
		if *show >= 0 && m.Seed == uint64(*show) {
			line = func(l string) { t.Log(l) }
		}
		if !s.add(m, m.group(), line) && (m.Seed < fresh || m.Seed >= 2000) {
			t.Logf("session %d is not all right", m.Seed)
		}
		wandering := m.metered()
		chosen.add(wandering, wandering.group(), nil)
		n, asked := m.corrections()
		s.corrections += n
		if asked {
			s.asked++
		}
		for times, p := range pauses {
			p.add(m, byPauses(m.Frames, times), nil)
		}
	}
	best := 2.0
	for times, p := range pauses {
		if b := pauses[best]; p.kinds-p.cutFalse-p.cutMissed > b.kinds-b.cutFalse-b.cutMissed {
			best = times
		}
	}
	t.Logf("grouping: %v", &s)
	t.Logf("where the camera chose the exposure: %v", &chosen)
	t.Logf("by pauses over %g medians alone, the best of those tried: %v", best, pauses[best])
}
