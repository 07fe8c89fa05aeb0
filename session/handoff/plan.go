package handoff

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"stillbench/session"
)

// Options say what to hand on, and how.
type Options struct {
	// As is how files come into their folders; "" means Copy.
	As How
	// CopyInstead allows a copy where a hard link or shared blocks cannot be made.
	CopyInstead bool
	// Pattern names the folders (see Fields); "" means DefaultPattern.
	Pattern string
	// Others hands on the markers, singles and tests too, in folders by these names.
	Others bool
	// Sidecars writes XMP beside the frames; Reject also rates those set aside -1.
	Sidecars, Reject bool
	// Sheet makes the contact sheet, on Paper ("A4" or "Letter"; "" means A4).
	Sheet bool
	Paper string
	// Tables makes tables, recipes and plain lists.
	Tables bool
	// Picture decodes a frame upright into at most maxW x maxH pixels, for the contact
	// sheet; without it, or with an error, the sheet has an empty place.
	Picture Pictures
	// Proof gives the picture of a proof, for the contact sheet; without it, or with an
	// error, a frame stands there.
	Proof Proofs
	// Words is Session.Words.
	Words func(session.Text) string
	// Now is the clock; nil means time.Now.
	Now func() time.Time
}

// Plan is what would be made. Nothing is there before Do.
type Plan struct {
	// Out is the folder handed on to, absolute.
	Out string
	// Stacks are the folders of this session, those that are there already included.
	Stacks []Folder
	// New counts the files still to be made, sidecars not included.
	New int
	// Bytes is what they take on the disk, some for sheet and tables included; Free what
	// there is, -1 when not known.
	Bytes, Free int64
	// Problems are files that are left out, each with its reason.
	Problems []session.Problem

	source   Session
	options  Options
	stacks   map[int64]Stack // of kind stack, by ID
	manifest Manifest        // as it was found
	before   time.Time       // its Made, zero when there was none
	// dropped are folders that an earlier run began and nobody wants any more.
	dropped []Folder
}

// Fits reports whether there is room for the plan, as far as is known.
func (p *Plan) Fits() bool { return p.Free < 0 || p.Bytes <= p.Free }

// beforeFolder is where sidecars as they were before a move are kept.
const beforeFolder = ".stillbench-before"

// asideFolder is where what was set aside is kept.
var asideFolder = session.Say("set aside")

// allowance is kept free for manifest and folders, and for each page of pictures.
const (
	allowance     = 1 << 20
	pageAllowance = 1 << 20
)

// NewPlan works out what is to be made in out, which need not be there yet. It writes
// nothing. The error says what is wrong with the folder or the pattern.
func NewPlan(ctx context.Context, s Session, out string, o Options) (*Plan, error) {
	if o.As == "" {
		o.As = Copy
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	s.Words = o.Words
	if !slices.Contains(Hows, o.As) {
		return nil, session.Refuse("%q is no way to hand files on", o.As)
	}
	if _, ok := papers[o.Paper]; !ok {
		return nil, session.Refuse("%q is no paper; there are A4 and Letter", o.Paper)
	}
	pat, err := parsePattern(o.Pattern)
	if err != nil {
		return nil, err
	}
	if out, err = filepath.Abs(out); err != nil {
		return nil, err
	}
	if err := apart(s, out); err != nil {
		return nil, err
	}
	if st, err := os.Stat(out); err == nil && !st.IsDir() {
		return nil, session.Refuse("%s is a file; name a folder", out)
	}
	p := &Plan{Out: out, source: s, options: o, stacks: map[int64]Stack{}}
	m, err := ReadManifest(out)
	switch {
	case err == nil:
		p.manifest, p.before = *m, m.Made
	case errors.Is(err, fs.ErrNotExist):
	default:
		return nil, session.Fail("%s; name another folder", bare(err))
	}
	w := planner{Plan: p, taken: names{}, claimed: map[string]Folder{}}
	if err := w.takeWhatIsThere(); err != nil {
		return nil, err
	}
	stacks := s.Stacks(session.KindStack)
	digits := max(2, len(fmt.Sprint(len(stacks))))
	for _, k := range stacks {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p.stacks[k.ID] = k
		w.add(k.ID, k.Title(), pat.folder(k, s.Dir, digits), k)
	}
	if o.Others {
		for _, other := range []struct {
			kind session.Kind
			name session.Text
		}{{session.KindMarker, session.Say("markers")}, {session.KindSingle, session.Say("singles")}, {session.KindTest, session.Say("tests")}} {
			if groups := s.Stacks(other.kind); len(groups) > 0 {
				all := Stack{Kind: other.kind, words: s.Words}
				for _, g := range groups {
					all.Frames = append(all.Frames, g.Frames...)
				}
				w.add(0, capital(s.say(other.name)), s.say(other.name), all)
			}
		}
	}
	w.unfinished()
	p.Bytes = allowance
	if o.Sheet {
		p.Bytes += int64(len(stacks)/2+1) * pageAllowance
	}
	for _, k := range p.Stacks {
		for _, f := range k.Files {
			if f.there {
				continue
			}
			p.New++
			if f.As == Copy || o.CopyInstead && f.As != Move && f.As != SymLink {
				p.Bytes += f.Bytes
			}
		}
	}
	p.Free = free(nearest(out))
	return p, nil
}

// apart refuses a folder that holds what is handed on: the watcher leaves folders alone that
// something was handed on to.
func apart(s Session, out string) error {
	real := func(p string) string {
		near := nearest(p)
		rest, rerr := filepath.Rel(near, p)
		if r, err := filepath.EvalSymlinks(near); err == nil && rerr == nil {
			return filepath.Join(r, rest)
		}
		return p
	}
	within := func(p, dir string) bool {
		rel, err := filepath.Rel(dir, p)
		return err == nil && filepath.IsLocal(rel)
	}
	d, o := real(s.Dir), real(out)
	if within(d, o) {
		return session.Refuse("%s is the session's own folder, or holds it; name a folder for the handoff alone", out)
	}
	if !within(o, d) {
		return nil
	}
	for _, f := range s.Frames {
		if !f.Gone && within(filepath.Join(d, filepath.FromSlash(f.Name)), o) {
			return session.Refuse("%s holds frames of this session; name a folder for the handoff alone", out)
		}
	}
	return nil
}

// nearest is the deepest folder of a path that is there.
func nearest(p string) string {
	for {
		if st, err := os.Stat(p); err == nil && st.IsDir() {
			return p
		}
		up := filepath.Dir(p)
		if up == p {
			return p
		}
		p = up
	}
}

// planner gathers a plan.
type planner struct {
	*Plan
	taken   names             // folders
	claimed map[string]Folder // by path: the folder that a run which was killed was moving a file to
	moving  bool              // files of this session were moved here
}

// takeWhatIsThere notes the names in out that are not ours to use.
func (w *planner) takeWhatIsThere() error {
	w.taken.take(tablesFolder)
	entries, err := os.ReadDir(w.Out)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return session.Fail("%s cannot be read: %s", w.Out, bare(err))
	}
	for _, e := range entries {
		w.taken.take(e.Name())
	}
	for _, k := range w.manifest.Stacks {
		if k.State == Made || k.State == Planned && k.moved() {
			w.taken.take(k.Folder)
		}
		w.moving = w.moving || k.moved() && string(k.Session) == w.source.Dir && k.begun(w.Out)
	}
	for _, k := range w.manifest.Stacks {
		if w.ends(k) {
			for _, f := range k.Files {
				w.claimed[string(f.From)] = k
			}
		}
	}
	return nil
}

// ends says of a folder in the manifest that a run which was killed was moving it: it is
// ended as it was begun.
func (w *planner) ends(k Folder) bool {
	return w.moving && k.State == Planned && k.moved() && string(k.Session) == w.source.Dir
}

// add plans the folder of one stack.
func (w *planner) add(id int64, title, folder string, k Stack) {
	e := Folder{Session: rawPath(w.source.Dir), ID: id, Kind: string(k.Kind), Number: k.Number, Title: title, State: Planned}
	before := w.earlier(e)
	if before != nil {
		e.Folder, e.State, e.Files, e.Sidecars = before.Folder, before.State, slices.Clone(before.Files), slices.Clone(before.Sidecars)
	} else {
		e.Folder = w.freeFolder(folder)
	}
	w.taken.take(e.Folder)
	inside := names{}
	for i := range e.Files {
		inside.take(e.Files[i].To)
		e.Files[i].there = e.State == Made
	}
	for _, s := range e.Sidecars {
		inside.take(s.To)
	}
	for _, f := range k.Frames {
		w.addFrame(&e, inside, f)
	}
	if len(e.Files) > 0 {
		w.Stacks = append(w.Stacks, e)
	}
}

// earlier is what an earlier run made of the same group, or began to. A beginning that goes
// another way than this run's is dropped, unless a file was moved.
func (w *planner) earlier(e Folder) *Folder {
	i := slices.IndexFunc(w.manifest.Stacks, e.is)
	if i < 0 {
		return nil
	}
	o := &w.manifest.Stacks[i]
	if o.State == Planned && !w.ends(*o) {
		w.dropped = append(w.dropped, *o)
		if _, err := os.Lstat(filepath.Join(w.Out, filepath.FromSlash(o.Folder))); err == nil {
			return o // it had its name already
		}
		return nil
	}
	return o
}

// unfinished takes up the moves of this session that an earlier run did not end: their
// frames are in the session no more. Copies that it began of groups that are gone are dropped.
func (w *planner) unfinished() {
	for _, o := range w.manifest.Stacks {
		if o.State != Planned || string(o.Session) != w.source.Dir || slices.ContainsFunc(w.Stacks, o.is) {
			continue
		}
		if w.ends(o) {
			w.Stacks = append(w.Stacks, o)
		} else {
			w.dropped = append(w.dropped, o)
		}
	}
}

// freeFolder gives a folder's name, or the first of its followers that is free.
func (w *planner) freeFolder(name string) string {
	for i := 1; ; i++ {
		dir, base := path.Split(name)
		try := dir + shorten(base, maxName-len(nth(i))) + nth(i)
		_, err := os.Lstat(filepath.Join(w.Out, filepath.FromSlash(try)))
		if !w.taken.taken(try) && errors.Is(err, fs.ErrNotExist) {
			return try
		}
	}
}

// source is one file of a frame, as it lies there now.
type source struct {
	path string // absolute
	role Role
	info fs.FileInfo
}

// addFrame plans the files of a frame, which stay together under one stem.
func (w *planner) addFrame(e *Folder, inside names, f session.Frame) {
	name := strings.ToValidUTF8(f.Name, "\uFFFD")
	var files []source
	for i, name := range append([]string{f.Name}, f.Pairs...) {
		role := RoleFrame
		if i > 0 {
			role = RolePair
		}
		p := filepath.Join(w.source.Dir, filepath.FromSlash(name))
		info, err := os.Lstat(p)
		if err == nil && info.Mode()&fs.ModeSymlink != 0 {
			info, err = os.Stat(p)
		}
		if err != nil || !info.Mode().IsRegular() {
			if !slices.ContainsFunc(e.Files, func(o File) bool { return string(o.From) == p && o.As == Move }) {
				w.Problems = append(w.Problems, session.Problem{File: name, Sentence: session.Say("%s is not there any more. It is left out.", name)})
			}
			continue
		}
		files = append(files, source{p, role, info})
	}
	if len(files) == 0 {
		return
	}
	for _, p := range sidecarsOf(files) {
		if info, err := os.Stat(p); err == nil && info.Mode().IsRegular() {
			files = append(files, source{p, RoleSidecar, info})
		}
	}
	files = slices.DeleteFunc(files, func(s source) bool {
		// With frames moved away, what is left may be grouped otherwise: what was begun
		// goes where it was going.
		if k, ok := w.claimed[s.path]; ok && !k.is(*e) {
			return true
		}
		return slices.ContainsFunc(e.Files, func(o File) bool {
			return string(o.From) == s.path && o.Bytes == s.info.Size() && o.Modified.Equal(s.info.ModTime())
		}) || s.role == RoleSidecar && slices.ContainsFunc(e.Sidecars, func(o Sidecar) bool { return o.Merged != nil && string(*o.Merged) == s.path })
	})
	if len(files) == 0 {
		return
	}
	dir := e.Folder
	if f.SetAside {
		dir = path.Join(dir, w.source.say(asideFolder))
	}
	suffix, joins := w.joins(e, files)
	if !joins {
		suffix = w.suffix(inside, dir, files)
	}
	wrote := joins // the exposure's sidecar is planned already
	for _, s := range files {
		to := path.Join(dir, fit(cleanFile(filepath.Base(s.path)), suffix))
		inside.take(to)
		if s.role == RoleSidecar && w.options.Sidecars {
			from := rawPath(s.path)
			e.Sidecars = append(e.Sidecars, Sidecar{To: to, Frame: name, Merged: &from})
			wrote = true
			if w.options.As != Move {
				continue
			}
			s.role, to = RoleBefore, path.Join(beforeFolder, to)
		}
		e.Files = append(e.Files, File{
			From: rawPath(s.path), To: to, Frame: name, Role: s.role, SetAside: f.SetAside,
			As: w.options.As, Bytes: s.info.Size(), Modified: s.info.ModTime(),
		})
	}
	if w.options.Sidecars && !wrote {
		stem := fit(cleanFile(filepath.Base(files[0].path)), suffix)
		to := path.Join(dir, strings.TrimSuffix(stem, path.Ext(stem))+".xmp")
		inside.take(to)
		e.Sidecars = append(e.Sidecars, Sidecar{To: to, Frame: name})
	}
}

// joins says whether files are of an exposure that is planned already (a RAW that came after
// its JPEG), and what stands behind their stem then.
func (w *planner) joins(e *Folder, files []source) (suffix string, ok bool) {
	for _, o := range e.Files {
		from := string(o.From)
		stem := strings.TrimSuffix(from, filepath.Ext(from))
		for _, s := range files {
			if strings.TrimSuffix(s.path, filepath.Ext(s.path)) == stem {
				was := cleanFile(filepath.Base(from))
				was = strings.TrimSuffix(was, path.Ext(was))
				is := path.Base(o.To)
				return strings.TrimPrefix(strings.TrimSuffix(is, path.Ext(is)), was), true
			}
		}
	}
	return "", false
}

// suffix is what sets a frame's files apart from those of another by the same name.
func (w *planner) suffix(inside names, dir string, files []source) string {
	for i := 1; ; i++ {
		clash := slices.ContainsFunc(files, func(s source) bool {
			name := fit(cleanFile(filepath.Base(s.path)), nth(i))
			xmp := strings.TrimSuffix(name, path.Ext(name)) + ".xmp"
			return inside.taken(path.Join(dir, name)) || inside.taken(path.Join(dir, xmp))
		})
		if !clash {
			return nth(i)
		}
	}
}

// sidecarsOf finds the XMP files that lie beside a frame: by its stem (A0001.xmp) or by a
// file's whole name (A0001.NEF.xmp), in any case.
func sidecarsOf(files []source) []string {
	var out []string
	for _, f := range files {
		dir, base := filepath.Split(f.path)
		stem := strings.TrimSuffix(base, filepath.Ext(base))
		for _, name := range []string{stem + ".xmp", stem + ".XMP", base + ".xmp", base + ".XMP"} {
			p := filepath.Join(dir, name)
			if !slices.ContainsFunc(out, func(o string) bool { return sameFile(o, p) }) {
				if _, err := os.Lstat(p); err == nil {
					out = append(out, p)
				}
			}
		}
	}
	return out
}

func sameFile(a, b string) bool {
	if a == b {
		return true
	}
	x, xerr := os.Stat(a)
	y, yerr := os.Stat(b)
	return xerr == nil && yerr == nil && os.SameFile(x, y)
}

// bare takes the operation and the path off an error: the sentence around it names them.
func bare(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err
	}
	return err
}
