package watch

import (
	"errors"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// tree is what is known of the folder. It belongs to Run's goroutine.
type tree struct {
	hints   *hints
	folders map[string]*folder // by relative path, "" is the watched folder itself
	due     map[*entry]struct{}
	byID    map[fileID]*entry // files told as Ready
	rootID  fileID
	away    bool
	// polling: events cannot be trusted, look often.
	polling bool
	// strangeIDs: the file system may give a file another number at any time.
	strangeIDs bool
	// unhinted holds folders where a scan found a new file before any event named it.
	unhinted map[string]struct{}
	nextScan time.Time
	// again: scan once more, for events may have been lost.
	again bool
}

func newTree() tree {
	return tree{
		folders: map[string]*folder{}, due: map[*entry]struct{}{}, byID: map[fileID]*entry{},
		unhinted: map[string]struct{}{},
	}
}

// folder is one folder of the tree.
type folder struct {
	files   map[string]*entry // by name
	watched bool              // events are asked for
	gone    bool              // kept only until its files have been told as Gone
	problem Problem           // told as Unreadable
}

// stamp is a file's appearance from outside.
type stamp struct {
	size     int64
	modified time.Time
	mode     fs.FileMode
	id       fileID
}

func stampOf(info fs.FileInfo) stamp {
	return stamp{info.Size(), info.ModTime(), info.Mode(), idIn(info)}
}

func (s stamp) sameTimeAndSize(t stamp) bool {
	return s.size == t.size && s.modified.Equal(t.modified)
}

// entry is one file that counts.
type entry struct {
	path  string
	stamp stamp
	// since is when stamp was first seen. All such times carry the monotonic clock: a
	// clock that is set back changes nothing.
	since time.Time
	// look is when to look again; it counts while the entry is due.
	look    time.Time
	tries   int  // looks into this stamp that found it unfinished
	resting bool // by its age the file came to rest before it was found
	missing bool
	ready   bool    // told as Ready, and not changed since
	known   bool    // told as Ready or Unreadable at some time
	problem Problem // told as Unreadable, for this stamp
}

// scanKind says why everything is looked at.
type scanKind int

const (
	scanFirst scanKind = iota
	scanAgain          // by the clock
	scanLost           // events were lost
)

// count is the number of files that are there.
func (t *tree) count() int {
	n := 0
	for _, f := range t.folders {
		for _, e := range f.files {
			if !e.missing {
				n++
			}
		}
	}
	return n
}

// hint starts to listen for events, afresh if it did before.
func (w *Watcher) hint() {
	w.hints.close()
	w.hints = nil
	if w.o.Once {
		return
	}
	h, err := w.openHints()
	w.hints, w.polling = h, err != nil || w.polling
	for _, f := range w.folders {
		f.watched = false
	}
}

// scan looks at the whole tree.
func (w *Watcher) scan(kind scanKind) {
	start := time.Now()
	if kind == scanAgain && len(w.unhinted) > 0 {
		// The last scan found a file that no event has named since.
		w.polling = true
	}
	clear(w.unhinted)
	if w.look() {
		w.list("", walk{kind: kind, deep: true})
	}
	pace := w.o.SlowRescan
	if w.polling || w.away {
		pace = w.o.Rescan
	}
	w.nextScan = time.Now().Add(max(pace, (scanShare-1)*time.Since(start)))
}

// look sees whether the watched folder itself is there, and tells when that changes.
func (w *Watcher) look() bool {
	info, err := os.Stat(w.o.Dir)
	if err == nil && !info.IsDir() {
		err = errors.New("it is not a folder any more")
	}
	var entries []fs.DirEntry
	if err == nil {
		entries, err = w.readDir(w.o.Dir)
	}
	if err != nil {
		w.leave(Problem{"The folder %s cannot be seen: %s. Its frames are kept; it is taken up again when it comes back.", w.o.Dir, whyOf(err)})
		return false
	}
	id := idIn(info)
	if id != w.rootID {
		if len(entries) == 0 && w.count() > 0 {
			// What is left of a mounted card or drive is an empty folder.
			w.leave(Problem{Form: "The folder %s is another one now, and empty. Is its card or drive still connected? Its frames are kept.", Name: w.o.Dir})
			return false
		}
		w.rootID = id
		w.renumber()
		w.hint()
	}
	if w.away {
		w.away = false
		w.hint()
		w.send(Event{Kind: FolderBack})
	}
	return true
}

func (w *Watcher) leave(problem Problem) {
	if !w.away {
		w.away = true
		w.send(Event{Kind: FolderAway, Problem: problem})
	}
}

// renumber forgets what files were called by the disk: it is another one.
func (w *Watcher) renumber() {
	clear(w.byID)
	for _, f := range w.folders {
		for _, e := range f.files {
			e.stamp.id = fileID{}
		}
	}
}

// walk says how to list a folder.
type walk struct {
	kind scanKind
	deep bool // into every subfolder, not only into new ones
}

// list looks at one folder and what is new below it.
func (w *Watcher) list(dir string, how walk) {
	if w.ctx.Err() != nil {
		return
	}
	if w.left(dir) {
		if w.folders[dir] != nil {
			w.drop(dir)
		}
		return
	}
	f := w.folders[dir]
	if f == nil {
		f = &folder{files: map[string]*entry{}}
		w.folders[dir] = f
		if remote(w.abs(dir)) {
			w.polling, w.strangeIDs = true, true
		}
	}
	f.gone = false
	old := f.watched
	if !w.o.Once {
		// Asked for again each time: a folder that was replaced has lost its events.
		f.watched = w.hints.add(w.abs(dir))
		w.polling = w.polling || !f.watched && w.hints != nil && dirExists(w.abs(dir))
	}
	entries, err := w.readDir(w.abs(dir))
	if errors.Is(err, fs.ErrNotExist) && dir != "" {
		w.drop(dir)
		return
	}
	w.folderProblem(dir, f, err)
	seen := map[string]bool{}
	for _, de := range entries {
		name := de.Name()
		if strings.HasPrefix(name, ".") {
			continue
		}
		rel := path.Join(dir, name)
		if de.IsDir() {
			seen[name] = true
			if sub := w.folders[rel]; how.deep || sub == nil || sub.gone {
				w.list(rel, how)
			}
			continue
		}
		if !w.counts(rel, de.Type()) {
			continue
		}
		info, ierr := de.Info()
		if ierr != nil {
			continue // it has just vanished
		}
		seen[name] = true
		if f.files[name] == nil && how.kind == scanAgain && old {
			w.unhinted[dir] = struct{}{}
		}
		w.observe(f, rel, info, how)
	}
	if err != nil {
		return
	}
	for name, e := range f.files {
		if !seen[name] {
			w.miss(e)
		}
	}
	for rel := range w.folders {
		if rel != "" && parent(rel) == dir && !seen[path.Base(rel)] {
			w.drop(rel)
		}
	}
}

// left reports whether a folder is to be left alone.
func (w *Watcher) left(dir string) bool {
	if dir == "" || w.o.Leave == "" {
		return false
	}
	_, err := os.Lstat(filepath.Join(w.abs(dir), w.o.Leave))
	return err == nil
}

// leftAbove gives the folder above a path that is to be left alone, "" when none is.
func (w *Watcher) leftAbove(rel string) string {
	for up := parent(rel); up != ""; up = parent(up) {
		if w.left(up) {
			return up
		}
	}
	return ""
}

func dirExists(dir string) bool {
	st, err := os.Stat(dir)
	return err == nil && st.IsDir()
}

// parent is the folder that rel lies in, "" for the watched folder.
func parent(rel string) string {
	if d := path.Dir(rel); d != "." {
		return d
	}
	return ""
}

// folderProblem tells when a folder cannot be listed, and when it can again.
func (w *Watcher) folderProblem(dir string, f *folder, err error) {
	var problem Problem
	if err != nil && dir != "" {
		problem = Problem{"The folder %s cannot be read: %s. What is in it is taken in when it can be.", dir, whyOf(err)}
	}
	if problem.is(f.problem) {
		return
	}
	f.problem = problem
	if problem.Form != "" {
		w.send(Event{Kind: Unreadable, Path: dir, Problem: problem})
	} else {
		w.send(Event{Kind: Gone, Path: dir})
	}
}

// counts reports whether a name is of interest: a candidate by its ending, or a link
// that stands for a folder.
func (w *Watcher) counts(rel string, mode fs.FileMode) bool {
	return w.exts[strings.ToLower(path.Ext(rel))] || mode&fs.ModeSymlink != 0 && dirExists(w.abs(rel))
}

// drop forgets a folder that is no more; its files will be told as Gone, unless they
// turn up elsewhere.
func (w *Watcher) drop(dir string) {
	for rel, f := range w.folders {
		if rel != dir && !strings.HasPrefix(rel, dir+"/") {
			continue
		}
		if f.watched {
			// A folder that was renamed may be listened to under its new name already,
			// and the system ends both: scanning listens again.
			w.hints.remove(w.abs(rel))
			w.again = true
		}
		f.gone, f.watched = true, false
		w.folderProblem(rel, f, nil)
		for _, e := range f.files {
			w.miss(e)
		}
		if len(f.files) == 0 {
			delete(w.folders, rel)
		}
	}
}

// observe takes in how a file looks.
func (w *Watcher) observe(f *folder, rel string, info fs.FileInfo, how walk) {
	s := stampOf(info)
	name := path.Base(rel)
	e := f.files[name]
	if e == nil {
		e = &entry{path: rel}
		f.files[name] = e
		// Round strips the monotonic clock: ages are told by the wall clock.
		w.begin(e, s, how.kind == scanFirst && time.Now().Round(0).Sub(s.modified) > quickAge)
		return
	}
	if e.missing {
		e.missing = false
		if e.ready {
			delete(w.due, e)
		}
	}
	if w.changed(e, s) {
		w.begin(e, s, false)
		return
	}
	if e.problem.Form != "" && (how.deep || e.stamp.mode != s.mode) {
		w.lookAt(e, time.Now())
	}
	e.stamp = s
	if e.ready {
		w.byID[s.id] = e
	}
}

// changed reports whether a file is another one than before, by its looks.
func (w *Watcher) changed(e *entry, s stamp) bool {
	if !e.stamp.sameTimeAndSize(s) || e.stamp.mode.Type() != s.mode.Type() {
		return true
	}
	known := e.stamp.id != fileID{} && !w.strangeIDs
	return known && e.stamp.id != s.id
}

// begin starts to wait for a file to come to rest, unless it is at rest by its age, or
// is one that moved here.
func (w *Watcher) begin(e *entry, s stamp, resting bool) {
	if e.ready {
		e.ready = false
		w.forgetID(e)
	}
	e.stamp, e.since, e.tries, e.resting = s, time.Now(), 0, resting
	if from := w.movedFrom(e); from != nil {
		w.remove(from)
		e.ready, e.known, e.problem = true, true, Problem{}
		w.byID[s.id] = e
		delete(w.due, e)
		w.send(Event{Kind: Moved, From: from.path, Path: e.path, Size: s.size, Modified: s.modified})
		return
	}
	if e.resting {
		w.lookAt(e, e.since)
	} else {
		w.lookAt(e, e.since.Add(w.o.Settle))
	}
}

// movedFrom finds the file, told as Ready, that was renamed to become e.
func (w *Watcher) movedFrom(e *entry) *entry {
	from := w.byID[e.stamp.id]
	if from == nil || from == e || e.stamp.id == (fileID{}) || !from.ready || !from.stamp.sameTimeAndSize(e.stamp) {
		return nil
	}
	if !from.missing {
		if info, err := os.Lstat(w.abs(from.path)); err == nil && idIn(info) == e.stamp.id {
			return nil // both names are there: a hard link
		}
	}
	return from
}

// miss notes that a file is not where it was.
func (w *Watcher) miss(e *entry) {
	switch {
	case e.missing:
	case !e.known:
		w.remove(e)
	default:
		e.missing = true
		w.lookAt(e, time.Now().Add(w.o.Settle))
	}
}

// remove forgets a file.
func (w *Watcher) remove(e *entry) {
	delete(w.due, e)
	w.forgetID(e)
	dir := parent(e.path)
	f := w.folders[dir]
	delete(f.files, path.Base(e.path))
	if f.gone && len(f.files) == 0 {
		delete(w.folders, dir)
	}
}

func (w *Watcher) forgetID(e *entry) {
	if w.byID[e.stamp.id] == e {
		delete(w.byID, e.stamp.id)
	}
}

func (w *Watcher) lookAt(e *entry, when time.Time) {
	e.look = when
	w.due[e] = struct{}{}
}

// lookAtDue looks at the files whose time has come, in natural order.
func (w *Watcher) lookAtDue(now time.Time) {
	if w.away {
		return
	}
	var list []*entry
	for e := range w.due {
		if !e.look.After(now) {
			list = append(list, e)
		}
	}
	slices.SortFunc(list, func(a, b *entry) int { return Compare(a.path, b.path) })
	for _, e := range list {
		if w.ctx.Err() != nil {
			return
		}
		w.lookInto(e)
	}
}

// lookInto looks at one file, and decides what it is if it has come to rest.
func (w *Watcher) lookInto(e *entry) {
	delete(w.due, e)
	info, err := os.Lstat(w.abs(e.path))
	if err == nil && w.leftAbove(e.path) != "" {
		err = fs.ErrNotExist // to all who look
	}
	switch {
	case errors.Is(err, fs.ErrNotExist) && e.missing:
		if idOf(w.o.Dir) != w.rootID {
			w.lookAt(e, time.Now().Add(w.o.Settle))
			w.again = true // the whole folder went
			return
		}
		w.remove(e)
		w.send(Event{Kind: Gone, Path: e.path})
		return
	case errors.Is(err, fs.ErrNotExist):
		w.miss(e)
		return
	case err != nil:
		w.fail(e, Problem{"%s cannot be read: %s. It is taken in when that changes.", e.path, whyOf(err)})
		return
	}
	e.missing = false
	if s := stampOf(info); w.changed(e, s) {
		w.begin(e, s, false)
		return
	}
	if e.ready {
		return // it was missing for a moment
	}
	if problem, skip := w.notAFile(e); skip {
		return
	} else if problem.Form != "" {
		w.tell(e, problem)
		return
	}
	ok, missing, err := w.o.Whole(w.abs(e.path))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		w.miss(e)
	case err != nil:
		w.fail(e, Problem{"%s cannot be read: %s. It is taken in when that changes.", e.path, whyOf(err)})
	case !ok:
		if missing.Form == "" {
			missing = Why{Form: "it ends too early"}
		}
		w.fail(e, Problem{"%s is not whole: %s. It is taken in when that changes.", e.path, missing})
	default:
		w.finish(e)
	}
}

// finish tells that a file is whole, unless it changed while that was found out.
func (w *Watcher) finish(e *entry) {
	info, err := os.Lstat(w.abs(e.path))
	if err != nil {
		w.lookAt(e, time.Now().Add(w.o.Settle))
		return
	}
	if s := stampOf(info); w.changed(e, s) {
		w.begin(e, s, false)
		return
	}
	e.ready, e.known, e.problem = true, true, Problem{}
	w.byID[e.stamp.id] = e
	w.send(Event{Kind: Ready, Path: e.path, Size: e.stamp.size, Modified: e.stamp.modified})
}

// notAFile deals with links and with names that stand for no file. Links are not
// followed: what lies inside the folder is seen under its own name (skip), what lies
// outside is a problem.
func (w *Watcher) notAFile(e *entry) (problem Problem, skip bool) {
	switch {
	case e.stamp.mode.IsRegular():
		return Problem{}, false
	case e.stamp.mode&fs.ModeSymlink == 0:
		return Problem{Form: "%s is not a file. It is left out.", Name: e.path}, false
	}
	target, err := filepath.EvalSymlinks(w.abs(e.path))
	if err != nil {
		return Problem{Form: "%s is a link to nothing. It is left out.", Name: e.path}, false
	}
	root, err := filepath.EvalSymlinks(w.o.Dir)
	if err != nil {
		return Problem{}, true
	}
	if rel, err := filepath.Rel(root, target); err == nil && filepath.IsLocal(rel) {
		return Problem{}, true
	}
	return Problem{Form: "%s is a link that leads out of the folder. It is not followed; copy what it points to into the folder.", Name: e.path}, false
}

// fail deals with a file that rests and cannot be taken in: the rest may still be on
// its way.
func (w *Watcher) fail(e *entry, problem Problem) {
	now := time.Now()
	if !w.o.Once && !e.resting && e.problem.Form == "" && now.Sub(e.since) < patience*w.o.Settle {
		e.tries++
		w.lookAt(e, now.Add(w.o.Settle<<min(e.tries, 3)))
		return
	}
	w.tell(e, problem)
}

// tell says that a file is Unreadable, once for the same problem.
func (w *Watcher) tell(e *entry, problem Problem) {
	if !e.problem.is(problem) {
		e.problem, e.known = problem, true
		w.send(Event{Kind: Unreadable, Path: e.path, Problem: problem})
	}
}

// takeHints looks where events have pointed.
func (w *Watcher) takeHints() {
	paths, lost, failed := w.hints.take()
	w.polling = w.polling || failed && !w.o.Once
	if w.away {
		return
	}
	if lost {
		w.again = true
		return
	}
	for _, p := range slices.Sorted(maps.Keys(paths)) {
		rel, err := filepath.Rel(w.o.Dir, p)
		if err != nil || !filepath.IsLocal(rel) {
			continue
		}
		if rel == "." {
			w.again = true // something happened to the folder itself
			continue
		}
		w.glance(filepath.ToSlash(rel))
	}
}

// glance looks at one path that an event has named.
func (w *Watcher) glance(rel string) {
	dir := parent(rel)
	delete(w.unhinted, dir)
	f := w.folders[dir]
	if f == nil || strings.HasPrefix(path.Base(rel), ".") {
		return
	}
	if up := w.leftAbove(rel); up != "" {
		w.list(up, walk{kind: scanLost})
		return
	}
	info, err := os.Lstat(w.abs(rel))
	e := f.files[path.Base(rel)]
	switch {
	case err != nil:
		if w.folders[rel] != nil {
			w.drop(rel)
		} else if e != nil && errors.Is(err, fs.ErrNotExist) {
			w.miss(e)
		}
	case info.IsDir():
		if e != nil {
			w.miss(e)
		}
		w.list(rel, walk{kind: scanLost})
	case w.counts(rel, info.Mode()):
		w.observe(f, rel, info, walk{kind: scanLost})
	}
}

// idOf is the identity of what lies at a path, links followed; zero when nothing does.
func idOf(p string) fileID {
	info, err := os.Stat(p)
	if err != nil {
		return fileID{}
	}
	return idIn(info)
}
