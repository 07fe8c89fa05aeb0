package handoff

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"stillbench/session"
)

// ManifestName is the file that says what is what in a folder that stacks were handed on
// to. A folder below a watched one that holds it is not read in.
const ManifestName = "stillbench-handoff.json"

// manifestFormat stands in every manifest; what has another is not ours to touch.
const manifestFormat = "stillbench handoff 1"

// How says how files come into their new folders.
type How string

// The ways. None ever opens a photograph for writing.
const (
	// Copy copies and reads the copy back, compared by SHA-256.
	Copy How = "copy"
	// HardLink gives the same file a second name: what a program writes into one, the other has.
	HardLink How = "hardlink"
	// SymLink points to the original's absolute path.
	SymLink How = "symlink"
	// RefLink shares the original's blocks until one of the two is written to.
	RefLink How = "reflink"
	// Move renames; Undo puts everything back where it was.
	Move How = "move"
)

// Hows lists the ways.
var Hows = []How{Copy, HardLink, SymLink, RefLink, Move}

// Manifest is what ManifestName holds.
type Manifest struct {
	Format string    `json:"format"`
	Made   time.Time `json:"made"` // of the last change
	Stacks []Folder  `json:"stacks"`
	// Sheet and Tables are paths relative to the folder, with "/".
	Sheet  *string  `json:"sheet"`
	Tables []string `json:"tables"`
	// SheetOf is the SHA-256 of what the sheet shows: it is made again when that changes.
	SheetOf string `json:"sheetOf"`
}

// State says how far a folder is.
type State string

// The states of a folder.
const (
	Planned State = "planned" // it is not there; what was done of it lies in a folder of its own
	Made    State = "made"    // it is there, whole
	Undone  State = "undone"  // it was moved and moved back
)

// Folder is one stack, or the markers, singles or tests of a session.
type Folder struct {
	Session rawPath `json:"session"` // the session's folder, absolute
	ID      int64   `json:"id"`      // of the group; 0 for one that gathers several
	Kind    string  `json:"kind"`
	Number  int     `json:"number"`
	Title   string  `json:"title"`
	Folder  string  `json:"folder"` // relative, with "/"
	State   State   `json:"state"`
	Files   []File  `json:"files"`
	// Sidecars are those that were written, relative, with "/".
	Sidecars []Sidecar `json:"sidecars"`
}

// Role says what a file is to its frame.
type Role string

// The roles of a file.
const (
	RoleFrame   Role = "frame"   // it names the frame
	RolePair    Role = "pair"    // another file of the same exposure
	RoleSidecar Role = "sidecar" // XMP that lay beside it
	// RoleBefore is a sidecar that was moved, as it was: a merged one stands in its place.
	RoleBefore Role = "sidecar-before"
)

// File is one file that is handed on.
type File struct {
	From     rawPath   `json:"from"` // absolute
	To       string    `json:"to"`   // relative, with "/"
	Frame    string    `json:"frame"`
	Role     Role      `json:"role"`
	SetAside bool      `json:"setAside"`
	As       How       `json:"as"`
	Bytes    int64     `json:"bytes"`
	Modified time.Time `json:"modified"`
	// SHA256 is known of what was copied.
	SHA256 *string `json:"sha256"`

	there bool // by an earlier run
}

// is reports whether two folders are of the same group.
func (k Folder) is(o Folder) bool {
	return o.Session == k.Session && o.ID == k.ID && o.Kind == k.Kind && o.State != Undone
}

// New counts the files that no earlier run has brought.
func (k Folder) New() (n int) {
	for _, f := range k.Files {
		if !f.there {
			n++
		}
	}
	return n
}

// Sidecar is one XMP file that was written.
type Sidecar struct {
	To    string `json:"to"`
	Frame string `json:"frame"`
	// SHA256 is "" before it is written.
	SHA256 string `json:"sha256"`
	// Merged names the sidecar that its content comes from, nil when it is new.
	Merged *rawPath `json:"merged"`
}

// rawPath is a path of any bytes. JSON has text only: one that is no UTF-8 is written as
// "base64:...".
type rawPath string

const rawMark = "base64:"

// MarshalJSON writes the path.
func (p rawPath) MarshalJSON() ([]byte, error) {
	s := string(p)
	if !utf8.ValidString(s) {
		s = rawMark + base64.StdEncoding.EncodeToString([]byte(s))
	}
	return json.Marshal(s)
}

// UnmarshalJSON reads it back.
func (p *rawPath) UnmarshalJSON(data []byte) error {
	var s string
	if err := json.Unmarshal(data, &s); err != nil {
		return err
	}
	if len(s) > len(rawMark) && s[:len(rawMark)] == rawMark {
		b, err := base64.StdEncoding.DecodeString(s[len(rawMark):])
		if err != nil {
			return err
		}
		s = string(b)
	}
	*p = rawPath(s)
	return nil
}

// ErrForeign: the folder holds a file by the manifest's name that is none.
var ErrForeign = session.Fail("is not a list of this program's")

// ReadManifest reads what was handed on into a folder; the error is fs.ErrNotExist when
// nothing was.
func ReadManifest(dir string) (*Manifest, error) {
	path := filepath.Join(dir, ManifestName)
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var m Manifest
	if err := json.Unmarshal(data, &m); err != nil || m.Format != manifestFormat {
		return nil, session.Fail("%s %s", path, ErrForeign)
	}
	for _, k := range m.Stacks {
		// The kind is part of a folder's name, as the paths are.
		for _, name := range append(k.names(), k.Folder, k.partFolder()) {
			if !filepath.IsLocal(filepath.FromSlash(name)) || strings.Contains(k.Kind, "/") {
				return nil, session.Fail("%s %s: it leads out of its folder", path, ErrForeign)
			}
		}
		for _, f := range k.Files {
			if !within(string(k.Session), string(f.From)) {
				return nil, session.Fail("%s %s: %s was never in %s", path, ErrForeign, f.From, k.Session)
			}
		}
	}
	return &m, nil
}

// within reports whether a path is that of something below a folder; both are absolute.
func within(dir, path string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && rel != "." && filepath.IsLocal(rel)
}

// reallyIn reports whether a path in out, its links followed, still lies in out: a link put
// into the folder must not lead a move or a removal elsewhere.
func reallyIn(out, path string) bool {
	top, err := filepath.EvalSymlinks(out)
	if err != nil {
		return false
	}
	dir, err := filepath.EvalSymlinks(filepath.Dir(path))
	return err == nil && (dir == top || within(top, dir))
}

// names are all paths of a folder's files, relative to the folder handed on to.
func (k Folder) names() []string {
	var out []string
	for _, f := range k.Files {
		out = append(out, f.To)
	}
	for _, s := range k.Sidecars {
		out = append(out, s.To)
	}
	return out
}

// write puts the manifest in place of the one before, at once.
func (m *Manifest) write(dir string, now time.Time) error {
	m.Format, m.Made = manifestFormat, now
	if m.Stacks == nil {
		m.Stacks = []Folder{}
	}
	if m.Tables == nil {
		m.Tables = []string{}
	}
	data, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	tmp := filepath.Join(dir, "."+ManifestName+".part")
	if err := writeSynced(tmp, append(data, '\n'), os.O_CREATE|os.O_TRUNC); err != nil {
		os.Remove(tmp)
		return err
	}
	if err := os.Rename(tmp, filepath.Join(dir, ManifestName)); err != nil {
		os.Remove(tmp)
		return err
	}
	return syncDir(dir)
}

// writeSynced writes a file of our own and waits until it is on the disk.
func writeSynced(path string, data []byte, flag int) error {
	f, err := os.OpenFile(path, os.O_WRONLY|flag, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// syncDir waits until the names in a folder are on the disk. Not every file system can be
// asked for that.
func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	f.Sync()
	return f.Close()
}

// errLocked: another process holds the lock.
var errLocked = errors.New("locked")

// lock keeps a second run out of a folder until unlock is called or the process ends.
func lock(dir string) (unlock func(), err error) {
	path := filepath.Join(dir, ".stillbench-handoff.lock")
	for {
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return nil, err
		}
		if err := flock(f); err != nil {
			f.Close()
			if errors.Is(err, errLocked) {
				return nil, session.Fail("another handoff is at work in %s; it was left to it, and nothing was changed", dir)
			}
			return nil, err
		}
		// Whoever had it before may have taken the file away after it was opened here.
		a, aerr := f.Stat()
		b, berr := os.Stat(path)
		if aerr == nil && berr == nil && os.SameFile(a, b) {
			return func() { os.Remove(path); f.Close() }, nil
		}
		f.Close()
	}
}

// renameLooked renames where nothing is, as far as looking can tell.
func renameLooked(from, to string) error {
	if _, err := os.Lstat(to); err == nil {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: fs.ErrExist}
	}
	return os.Rename(from, to)
}
