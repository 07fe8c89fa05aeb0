package handoff

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"stillbench/session"
)

// Result says what a handoff did.
type Result struct {
	// Stacks are the folders that are there now, whole.
	Stacks []Folder
	// Files and Bytes count what was made by this run, sidecars not included.
	Files int
	Bytes int64
	// Sheet and Tables are paths relative to the folder; Manifest is absolute.
	Sheet    string
	Tables   []string
	Manifest string
	// Problems are what was left out, each with its reason.
	Problems []session.Problem
	// Sentence says in what state everything is now.
	Sentence session.Text
}

// partFolder holds what is done of a stack before its folder gets its name. It begins with
// a dot, so that nobody takes it for a stack.
func (k Folder) partFolder() string { return fmt.Sprintf(".stillbench-part-%s-%d", k.Kind, k.ID) }

// partFile is a file before it is whole.
const partFile = ".stillbench-part"

// stopError ends the whole run: the target cannot be written, or ctx has ended. Any other
// error ends one stack.
type stopError struct{ err error }

func (e stopError) Error() string { return e.err.Error() }
func (e stopError) Unwrap() error { return e.err }

func stop(err error) error {
	if err == nil {
		return nil
	}
	return stopError{err}
}

// Do makes what was planned. A stack's folder gets its name when the stack is whole; after an
// error, or the end of ctx, the stack at work is put back to where it was, those before it
// stand, and Result.Sentence says so. Killed, it goes on where it was at the next NewPlan and
// Do. The result is given with an error too.
func Do(ctx context.Context, p *Plan, progress session.Progress) (Result, error) {
	r := Result{Manifest: filepath.Join(p.Out, ManifestName), Problems: p.Problems}
	fail := func(err error) (Result, error) {
		r.Sentence = session.Say("Nothing was changed: %s.", session.TextOf(err))
		return r, err
	}
	if p.Free = free(nearest(p.Out)); !p.Fits() {
		return fail(session.Fail("%s are needed and %s are free where %s lies", size(p.Bytes), size(p.Free), p.Out))
	}
	made := nearest(p.Out)
	if err := os.MkdirAll(p.Out, 0o777); err != nil {
		return fail(session.Fail("%s cannot be made: %s", p.Out, bare(err)))
	}
	unlock, err := lock(p.Out)
	if err != nil {
		if made != p.Out {
			removeEmpty(made, p.Out)
		}
		var pe *fs.PathError
		if errors.As(err, &pe) {
			err = session.Fail("%s cannot be written into: %s", p.Out, pe.Err)
		}
		return fail(err)
	}
	defer unlock()
	if m, err := ReadManifest(p.Out); err == nil && !m.Made.Equal(p.before) || err != nil && !(errors.Is(err, fs.ErrNotExist) && p.before.IsZero()) {
		return fail(session.Fail("%s has changed since this was planned; plan it again", p.Out))
	}
	d := doer{plan: p, r: &r, progress: progress}
	return r, d.run(ctx)
}

// doer does one plan.
type doer struct {
	plan        *Plan
	r           *Result
	progress    session.Progress
	done, total int
	frames      map[string]placed // by name
}

// step tells the progress of so many bytes more, in units of a file and of a MiB.
func (d *doer) step(n int) {
	d.done += n
	d.progress.Tell(min(d.done, d.total), d.total)
}

func (d *doer) abs(rel string) string { return filepath.Join(d.plan.Out, filepath.FromSlash(rel)) }

func (d *doer) run(ctx context.Context) error {
	p, r := d.plan, d.r
	m := &p.manifest
	for _, k := range p.dropped {
		k.drop(p.Out)
		m.Stacks = slices.DeleteFunc(m.Stacks, func(o Folder) bool { return o.is(k) && o.State == Planned })
	}
	m.merge(p.Stacks)
	for _, k := range p.Stacks {
		for _, f := range k.Files {
			if !f.there {
				d.total += stepsOf(f)
			}
		}
	}
	if p.options.Sheet {
		d.total += len(p.Stacks)
	}
	// Before any photograph: whoever watches a folder above must not take them in.
	if err := m.write(p.Out, p.options.Now()); err != nil {
		r.Sentence = session.Say("Nothing was handed on: %s cannot be written: %s.", r.Manifest, session.TextOf(bare(err)))
		return err
	}
	var halt error
	for i := range p.Stacks {
		k := &p.Stacks[i]
		err := stop(ctx.Err())
		if err == nil {
			err = d.stack(ctx, k)
		}
		if err != nil {
			if errors.As(err, new(stopError)) {
				halt = err
				break
			}
			r.Problems = append(r.Problems, session.Problem{File: k.Folder, Sentence: session.Say("%s was not handed on: %s. Nothing of it is there, and its files are where they were.", k.Title, session.TextOf(err))})
			continue
		}
		r.Stacks = append(r.Stacks, *k)
		if halt = stop(d.keep()); halt != nil {
			break
		}
	}
	if halt == nil {
		halt = d.papers(ctx)
	}
	// What was put back binds no later run.
	m.merge(p.Stacks)
	m.Stacks = slices.DeleteFunc(m.Stacks, func(k Folder) bool {
		return k.State == Planned && slices.ContainsFunc(p.Stacks, k.is) && !k.begun(p.Out)
	})
	if err := m.write(p.Out, p.options.Now()); halt == nil {
		halt = stop(err)
	}
	d.say(halt)
	return halt
}

// say words the state that everything is in.
func (d *doer) say(halt error) {
	r := d.r
	whole := session.Say("%d folders are in %s, whole", len(r.Stacks), d.plan.Out)
	if len(r.Stacks) == 1 {
		whole = session.Say("%d folder is in %s, whole", 1, d.plan.Out)
	}
	switch {
	case halt == nil && len(r.Stacks) == len(d.plan.Stacks):
		r.Sentence = session.Say("%s.", whole)
	case halt == nil:
		r.Sentence = session.Say("%s; %d could not be handed on.", whole, len(d.plan.Stacks)-len(r.Stacks))
	default:
		why := session.Say("It was stopped")
		if full(halt) {
			why = session.Say("The disk is full")
		} else if !errors.Is(halt, context.Canceled) {
			why = session.Say("It could not go on: %s", session.TextOf(halt))
		}
		r.Sentence = session.Say("%s. %s; of the others nothing is there, and their files are where they were. Run it again and it goes on from here.", why, whole)
	}
}

// merge puts folders into the manifest, over what it says of the same groups.
func (m *Manifest) merge(stacks []Folder) {
	for _, k := range stacks {
		if i := slices.IndexFunc(m.Stacks, k.is); i >= 0 {
			m.Stacks[i] = k
		} else {
			m.Stacks = append(m.Stacks, k)
		}
	}
}

// keep writes what is done so far into the manifest.
func (d *doer) keep() error {
	d.plan.manifest.merge(d.plan.Stacks)
	return d.plan.manifest.write(d.plan.Out, d.plan.options.Now())
}

// drop takes away what a run that was killed had begun of a folder: copies, links and parts.
func (k Folder) drop(out string) {
	part := filepath.Join(out, k.partFolder())
	for _, name := range k.names() {
		if rest, ok := strings.CutPrefix(name, k.Folder+"/"); ok {
			os.Remove(filepath.Join(part, filepath.FromSlash(rest)))
		}
	}
	removeTree(part)
}

// stepsOf is how much of the progress a file is.
func stepsOf(f File) int {
	if f.As == Copy {
		return 1 + int(f.Bytes>>20)
	}
	return 1
}

// undoing is what to do, last first, to put a stack back to where it was.
type undoing []func() error

func (u *undoing) then(f func() error) { *u = append(*u, f) }

// back undoes all of it, as far as it goes.
func (u undoing) back() error {
	var errs []error
	for i := len(u) - 1; i >= 0; i-- {
		if err := u[i](); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// stack makes one folder. It grows in a folder of its own and is renamed when it is whole;
// one that stood there before is added to.
func (d *doer) stack(ctx context.Context, k *Folder) (err error) {
	root, part := d.abs(k.Folder), ""
	if _, err := os.Lstat(root); k.State != Made && err != nil {
		part = d.abs(k.partFolder())
		root = part
	}
	var undo undoing
	defer func() {
		if err != nil {
			if uerr := undo.back(); uerr != nil {
				err = stop(session.Fail("%s; and it could not be put back wholly (%s): %s lists what is where", err, uerr, ManifestName))
			}
		}
	}()
	if part != "" {
		undo.then(func() error { return removeTree(part) })
		if err := stop(os.MkdirAll(part, 0o777)); err != nil {
			return err
		}
	}
	// place gives where a file lies now, from where it will lie.
	place := func(to string) string {
		if rest, ok := strings.CutPrefix(to, k.Folder+"/"); ok {
			return filepath.Join(root, filepath.FromSlash(rest))
		}
		return d.abs(to)
	}
	// Sidecars first: of a frame that was moved the session knows no more.
	for i := range k.Sidecars {
		s := &k.Sidecars[i]
		if s.SHA256 != "" {
			continue
		}
		if err := d.sidecar(*k, s, place(s.To), &undo); err != nil {
			return err
		}
		undo.then(func() error { s.SHA256 = ""; return nil })
	}
	for i := range k.Files {
		f := &k.Files[i]
		if f.there {
			continue
		}
		if err := d.file(ctx, f, place(f.To), &undo); err != nil {
			return err
		}
	}
	if part != "" {
		to := d.abs(k.Folder)
		if err := stop(os.MkdirAll(filepath.Dir(to), 0o777)); err != nil {
			return err
		}
		syncDir(part)
		if err := stop(renameNew(part, to)); err != nil {
			return err
		}
		syncDir(filepath.Dir(to))
	}
	k.State = Made
	for i := range k.Files {
		if f := &k.Files[i]; !f.there {
			f.there = true
			d.r.Files++
			d.r.Bytes += f.Bytes
		}
	}
	return nil
}

// file makes one file at path, or sees that an earlier run has made it.
func (d *doer) file(ctx context.Context, f *File, path string, undo *undoing) error {
	if err := stop(ctx.Err()); err != nil {
		return err
	}
	if err := makeParent(path, undo); err != nil {
		return err
	}
	from := string(f.From)
	back := func() error { return os.Remove(path) }
	if f.As == Move {
		back = func() error { return renameNew(path, from) }
	}
	if _, err := os.Lstat(path); err == nil {
		// Left by a run that was killed.
		ok, err := d.isThere(f, path)
		if err != nil {
			return err
		}
		if ok {
			undo.then(back)
			d.step(stepsOf(*f))
			return nil
		}
		return stop(session.Fail("%s is another file; it was left as it is", path))
	}
	st, err := os.Stat(from)
	if err != nil {
		return session.Fail("%s is gone or cannot be read: %s", from, bare(err))
	}
	if st.Size() != f.Bytes || !st.ModTime().Equal(f.Modified) {
		return session.Fail("%s has changed since this was planned", from)
	}
	as, was := f.As, f.As
	switch as {
	case Move:
		err = renameNew(from, path)
		if otherDisk(err) {
			return stop(session.Fail("%s lies on another disk; a move stays on one, so copy instead", d.plan.Out))
		}
		err = stop(wrapTo(path, err))
	case SymLink:
		err = stop(wrapTo(path, os.Symlink(from, path)))
	case HardLink:
		if err = os.Link(from, path); err != nil && d.plan.options.CopyInstead {
			as = Copy
			err = d.copy(ctx, f, path, false)
		} else if otherDisk(err) {
			err = stop(session.Fail("%s lies on another disk, where no hard link reaches; copy instead", d.plan.Out))
		} else {
			err = stop(wrapTo(path, err))
		}
	case RefLink:
		err = d.copy(ctx, f, path, true)
		if errors.Is(err, errCannotClone) {
			if d.plan.options.CopyInstead {
				as = Copy
				err = d.copy(ctx, f, path, false)
			} else {
				err = stop(session.Fail("the file system of %s shares no blocks with that of %s; copy instead", d.plan.Out, filepath.Dir(from)))
			}
		}
	default:
		err = d.copy(ctx, f, path, false)
	}
	if err != nil {
		return err
	}
	undo.then(back)
	undo.then(func() error { f.As = was; return nil })
	if f.As != Copy || as != Copy {
		d.step(stepsOf(*f))
	} else {
		d.step(1)
	}
	f.As = as
	return nil
}

// makeParent makes the folder that a file is to lie in.
func makeParent(path string, undo *undoing) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return stop(wrapTo(dir, err))
	}
	undo.then(func() error { os.Remove(dir); return nil }) // if it is empty then
	return nil
}

func wrapTo(path string, err error) error {
	if err == nil {
		return nil
	}
	return session.Fail("%s cannot be made: %s", path, bare(err))
}

// isThere reports whether what lies at path is what file would make.
func (d *doer) isThere(f *File, path string) (bool, error) {
	from := string(f.From)
	switch f.As {
	case Move:
		_, err := os.Lstat(from)
		st, serr := os.Lstat(path)
		return errors.Is(err, fs.ErrNotExist) && serr == nil && st.Size() == f.Bytes, nil
	case SymLink:
		to, err := os.Readlink(path)
		return err == nil && to == from, nil
	case HardLink:
		if sameFile(from, path) {
			return true, nil
		}
	}
	if st, err := os.Lstat(path); err != nil || !st.Mode().IsRegular() || st.Size() != f.Bytes {
		return false, nil
	}
	a, err := hashOf(from)
	if err != nil {
		return false, session.Fail("%s is gone or cannot be read: %s", from, bare(err))
	}
	b, err := hashOf(path)
	if err != nil {
		return false, stop(err)
	}
	if a == b && f.As == Copy {
		f.SHA256 = &a
	}
	return a == b, nil
}

// errCannotClone: see cannotClone.
var errCannotClone = errors.New("no shared blocks")

// copy makes a copy beside path, reads it back, and names it when both are the same.
func (d *doer) copy(ctx context.Context, f *File, path string, share bool) (err error) {
	from := string(f.From)
	src, err := os.Open(from)
	if err != nil {
		return session.Fail("%s is gone or cannot be read: %s", from, bare(err))
	}
	defer src.Close()
	tmp := filepath.Join(filepath.Dir(path), partFile)
	os.Remove(tmp) // of a run that was killed
	dst, err := os.OpenFile(tmp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return stop(wrapTo(path, err))
	}
	defer func() {
		if err != nil {
			dst.Close()
			os.Remove(tmp)
		}
	}()
	sum := ""
	if share {
		if err := clone(dst, src); cannotClone(err) {
			return errCannotClone
		} else if err != nil {
			return stop(wrapTo(path, err))
		}
	} else if sum, err = d.pour(ctx, dst, src, path); err != nil {
		return err
	}
	if err := stop(wrapTo(path, errors.Join(dst.Sync(), dst.Close()))); err != nil {
		return err
	}
	st, err := os.Stat(from)
	if err != nil || st.Size() != f.Bytes || !st.ModTime().Equal(f.Modified) {
		return session.Fail("%s changed or vanished while it was copied", from)
	}
	if !share {
		back, err := hashOf(tmp)
		if err != nil || back != sum {
			return stop(session.Fail("the copy of %s does not read back as it was written; is the disk sound?", from))
		}
		f.SHA256 = &sum
	}
	if err := os.Chtimes(tmp, f.Modified, f.Modified); err != nil {
		return stop(wrapTo(path, err))
	}
	return stop(wrapTo(path, renameNew(tmp, path)))
}

// pour copies the bytes and gives their SHA-256.
func (d *doer) pour(ctx context.Context, dst io.Writer, src io.Reader, path string) (string, error) {
	h := sha256.New()
	buf := make([]byte, 1<<20)
	for {
		if err := ctx.Err(); err != nil {
			return "", stop(err)
		}
		n, rerr := io.ReadFull(src, buf)
		h.Write(buf[:n])
		if _, err := dst.Write(buf[:n]); err != nil {
			return "", stop(wrapTo(path, err))
		}
		if n == len(buf) {
			d.step(1)
		}
		if errors.Is(rerr, io.EOF) || errors.Is(rerr, io.ErrUnexpectedEOF) {
			return hex.EncodeToString(h.Sum(nil)), nil
		}
		if rerr != nil {
			return "", session.Fail("it cannot be read: %s", rerr)
		}
	}
}

func hashOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func hashText(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// newFile writes a file of our own under a name that nothing has.
func newFile(path string, data []byte) error {
	tmp := filepath.Join(filepath.Dir(path), partFile)
	os.Remove(tmp)
	err := writeSynced(tmp, data, os.O_CREATE|os.O_EXCL)
	if err == nil {
		err = renameNew(tmp, path)
	}
	if err != nil {
		os.Remove(tmp)
	}
	return wrapTo(path, err)
}

// removeTree removes empty folders and parts of files, and nothing else.
func removeTree(dir string) error {
	var dirs []string
	err := filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() {
			dirs = append(dirs, p)
		} else if e.Name() == partFile {
			return os.Remove(p)
		}
		return nil
	})
	for i := len(dirs) - 1; i >= 0; i-- {
		if rerr := os.Remove(dirs[i]); err == nil {
			err = rerr
		}
	}
	return err
}

// removeEmpty removes the empty folders of a path below top.
func removeEmpty(top, dir string) {
	for dir != top && len(dir) > len(top) {
		if os.Remove(dir) != nil {
			return
		}
		dir = filepath.Dir(dir)
	}
}

// ownName gives a path in out that nothing has, by a name or a follower of it; an earlier
// file with the same bytes is taken for it.
func (d *doer) ownFile(rel string, data []byte) (string, error) {
	for i := 1; ; i++ {
		try := path.Join(path.Dir(rel), fit(path.Base(rel), nth(i)))
		p := d.abs(try)
		switch st, err := os.Lstat(p); {
		case errors.Is(err, fs.ErrNotExist):
			if err := os.MkdirAll(filepath.Dir(p), 0o777); err != nil {
				return "", stop(wrapTo(p, err))
			}
			return try, stop(newFile(p, data))
		case err != nil:
			return "", stop(wrapTo(p, err))
		case st.Mode().IsRegular() && st.Size() == int64(len(data)):
			if h, err := hashOf(p); err == nil && h == hashText(data) {
				return try, nil
			}
		}
	}
}

// size writes a number of bytes as people do: "6.4 MB".
func size(n int64) session.Text {
	switch {
	case n < 1e6:
		return session.Say("%d kB", int(n+999)/1000)
	case n < 1e9:
		return session.Say("%.1f MB", float64(n)/1e6)
	}
	return session.Say("%.1f GB", float64(n)/1e9)
}
