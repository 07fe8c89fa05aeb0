package handoff

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"stillbench/session"
)

// Undo puts back where they were the files that were moved into out, and takes away the
// sidecars that were written beside them, where nobody has changed those since. Nothing is
// written over: where another file stands in the old place, the moved one stays, and a
// problem says so. It may be stopped, or killed, and called again.
func Undo(ctx context.Context, out string, progress session.Progress) (Result, error) {
	out, err := filepath.Abs(out)
	if err != nil {
		return Result{}, err
	}
	r := Result{Manifest: filepath.Join(out, ManifestName)}
	fail := func(err error) (Result, error) {
		r.Sentence = session.Say("Nothing was changed: %s.", session.TextOf(err))
		return r, err
	}
	if _, err := os.Stat(r.Manifest); err != nil {
		return fail(session.Fail("nothing was handed on into %s", out))
	}
	unlock, err := lock(out)
	if err != nil {
		return fail(err)
	}
	defer unlock()
	m, err := ReadManifest(out)
	if err != nil {
		return fail(err)
	}
	total := 0
	for _, k := range m.Stacks {
		if k.moved() {
			total += len(k.Files)
		}
	}
	if total == 0 {
		return fail(session.Fail("nothing was moved into %s", out))
	}
	done, kept := 0, 0
	for i := range m.Stacks {
		k := &m.Stacks[i]
		if !k.moved() {
			continue
		}
		whole := true
		for _, f := range k.Files {
			if err = ctx.Err(); err != nil {
				break
			}
			ferr := f.back(out, *k)
			if ferr != nil {
				whole = false
				kept++
				r.Problems = append(r.Problems, session.Problem{File: f.To, Sentence: session.Say("%s stays where it is: %s.", f.To, session.TextOf(ferr))})
			} else {
				r.Files++
			}
			done++
			progress.Tell(done, total)
		}
		if err != nil {
			break
		}
		if whole {
			k.takeAway(out)
			k.State = Undone
		}
	}
	if werr := m.write(out, time.Now()); err == nil {
		err = werr
	}
	said := session.Say("%d files are back where they were", r.Files)
	if r.Files == 1 {
		said = session.Say("%d file is back where it was", 1)
	}
	if kept > 0 {
		said = session.Say("%s; %d stayed in %s", said, kept, out)
	}
	if err != nil {
		said = session.Say("%s. It was stopped; call it again and it goes on", said)
	}
	r.Sentence = session.Say("%s.", said)
	return r, err
}

// moved: files of this folder were moved and not moved back.
func (k Folder) moved() bool {
	return k.State != Undone && len(k.Files) > 0 && k.Files[0].As == Move
}

// Moved counts the files that were moved into out and not moved back; 0 where nothing was.
func Moved(out string) (files int) {
	m, err := ReadManifest(out)
	if err != nil {
		return 0
	}
	for _, k := range m.Stacks {
		if k.moved() && k.begun(out) {
			files += len(k.Files)
		}
	}
	return files
}

// begun: a file of this folder is where the handoff brings it.
func (k Folder) begun(out string) bool {
	return slices.ContainsFunc(k.Files, func(f File) bool {
		return slices.ContainsFunc(k.at(out, f.To), func(p string) bool { _, err := os.Lstat(p); return err == nil })
	})
}

// at gives where a file of a folder can lie: in place, or in the part that was never renamed.
func (k Folder) at(out, to string) []string {
	places := []string{filepath.Join(out, filepath.FromSlash(to))}
	if rest, ok := strings.CutPrefix(to, k.Folder+"/"); ok {
		places = append(places, filepath.Join(out, k.partFolder(), filepath.FromSlash(rest)))
	}
	return places
}

// back moves a file back; it is no error when it is there already.
func (f File) back(out string, k Folder) error {
	from := string(f.From)
	for _, p := range k.at(out, f.To) {
		st, err := os.Lstat(p)
		if err != nil {
			continue
		}
		if !reallyIn(out, p) {
			return session.Fail("a link leads from %s to another folder", out)
		}
		if st.Size() != f.Bytes {
			return session.Fail("it was changed since")
		}
		if err := os.MkdirAll(filepath.Dir(from), 0o777); err != nil {
			return session.Fail("%s cannot be made: %s", filepath.Dir(from), bare(err))
		}
		if err := renameNew(p, from); errors.Is(err, fs.ErrExist) {
			return session.Fail("another file is at %s", from)
		} else if err != nil {
			return bare(err)
		}
		return nil
	}
	if _, err := os.Lstat(from); err != nil {
		return session.Fail("it is in neither place any more")
	}
	return nil
}

// takeAway removes what the handoff added to a folder: sidecars as they were written, and
// folders that are empty then.
func (k Folder) takeAway(out string) {
	for _, s := range k.Sidecars {
		for _, p := range k.at(out, s.To) {
			if h, err := hashOf(p); err == nil && h == s.SHA256 && reallyIn(out, p) {
				os.Remove(p)
			}
		}
	}
	for _, dir := range []string{k.partFolder(), k.Folder, path.Join(beforeFolder, k.Folder)} {
		p := filepath.Join(out, filepath.FromSlash(dir))
		for _, f := range k.Files { // that of what was set aside has a name by the language
			if aside, ok := strings.CutPrefix(path.Dir(f.To), k.Folder+"/"); ok {
				os.Remove(filepath.Join(p, filepath.FromSlash(aside)))
			}
		}
		removeEmpty(out, p)
	}
}
