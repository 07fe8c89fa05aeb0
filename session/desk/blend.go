package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/plane"
)

// BlendJob says what to blend, and into which file.
type BlendJob struct {
	// Files are the frames in time order: paths, or relative to Dir where Dir is not empty. Their
	// Fingerprints, where given, are what Touches know them by.
	Dir          string
	Files        []string
	Fingerprints []string
	// Out is the file to write: .tif or .tiff (16 bits, deflated), .png (16 bits), .jpg or
	// .jpeg. Depth, where not empty, is a .png for the depth map; how sure it is goes
	// into a second file beside it, whose name ends in -sure.png.
	Out, Depth string
	// Replace allows files that exist to be replaced.
	Replace bool
	// Proof blends at preview size.
	Proof     bool
	Character blend.Character // "" takes the one that suits
	Touches   []session.Touch
	Progress  session.Progress
}

// Blended is what came of a BlendJob.
type Blended struct {
	*blend.Result
	// W x H is the size of the picture in Out, upright.
	W, H int
	// FarFirst: the frames begin with the farthest.
	FarFirst bool
	// DepthSure is the path of the second file of the depth map, "" without one.
	DepthSure string
}

// proofSide is the least long side of the frames of a proof.
const proofSide = 1600

// Blend blends files into a file. The file appears under its name once it is whole; after
// an error, or when ctx ends, there is none. Errors are sentences that name the file.
func Blend(ctx context.Context, j BlendJob) (*Blended, error) {
	paths := make([]string, len(j.Files))
	for i, f := range j.Files {
		paths[i] = filepath.FromSlash(f)
		if j.Dir != "" {
			paths[i] = filepath.Join(j.Dir, paths[i])
		}
	}
	sure := ""
	if j.Depth != "" {
		sure = strings.TrimSuffix(j.Depth, filepath.Ext(j.Depth)) + "-sure.png"
	}
	for _, out := range []string{j.Out, j.Depth, sure} {
		if out != "" {
			if err := mayWrite(out, paths, j.Replace); err != nil {
				return nil, err
			}
		}
	}
	if filepath.Clean(j.Depth) == filepath.Clean(j.Out) || filepath.Clean(sure) == filepath.Clean(j.Out) {
		return nil, session.Refuse("the blend and its depth map cannot both be %s", j.Out)
	}
	if j.Depth != "" && !strings.EqualFold(filepath.Ext(j.Depth), ".png") {
		return nil, session.Refuse("a depth map is a .png, and %s is none", j.Depth)
	}
	if !slices.Contains([]string{".tif", ".tiff", ".png", ".jpg", ".jpeg"}, strings.ToLower(filepath.Ext(j.Out))) {
		return nil, session.Refuse("a blend is written as .tif, .png or .jpg, and %s is none of them", j.Out)
	}
	for _, out := range []string{j.Out, j.Depth} {
		if out != "" {
			if err := mayPutInto(filepath.Dir(out)); err != nil { // before all the work
				return nil, err
			}
		}
	}
	files := make([]*blendFile, len(paths))
	job := blend.Job{Character: j.Character, Touches: j.Touches, Progress: j.Progress}
	for i, path := range paths {
		f := &blendFile{path: path}
		files[i] = f
		s := blend.Source{Name: j.Files[i], Work: f.work, Full: f.full}
		if i < len(j.Fingerprints) {
			s.Fingerprint = j.Fingerprints[i]
		}
		if j.Proof {
			s.Full = func() (blend.Pixels, error) {
				p, err := f.reduced(proofSide)
				return blend.Pixels{RGB: p}, err
			}
		}
		job.Sources = append(job.Sources, s)
	}
	r, err := blend.Run(ctx, job)
	if err != nil {
		return nil, err
	}
	out := &Blended{Result: r, FarFirst: farFirst(r)}
	// The reference tells how the picture is to be held and read.
	middle := files[slices.Index(j.Files, r.Used[r.Reference].Name)]
	meta, profile, err := middle.carried()
	if err != nil {
		return nil, err
	}
	c := blend.Carried{
		Profile: profile, Meta: meta, Software: "Stillbench",
		Description: fmt.Sprintf("Focus stack of %d frames", len(r.Used)),
	}
	o := orientation(meta)
	if j.Depth != "" && r.Depth == nil {
		return nil, session.Refuse("the pictures are too small for a depth map")
	}
	if j.Depth != "" {
		w, h := r.Picture.W, r.Picture.H
		if err := writeWhole(j.Depth, j.Replace, func(f *os.File) error {
			return blend.WriteDepth(f, r.Depth, w, h, len(r.Used), out.FarFirst, o)
		}); err != nil {
			return nil, err
		}
		if err := writeWhole(sure, j.Replace, func(f *os.File) error { return blend.WriteSure(f, r.Depth, w, h, o) }); err != nil {
			return nil, err
		}
		out.DepthSure = sure
	}
	r.Picture = r.Picture.Oriented(o)
	out.W, out.H = r.Picture.W, r.Picture.H
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	err = writeWhole(j.Out, j.Replace, func(f *os.File) error {
		switch strings.ToLower(filepath.Ext(j.Out)) {
		case ".png":
			return blend.WritePNG(f, r.Picture, c)
		case ".jpg", ".jpeg":
			return blend.WriteJPEG(f, r.Picture.To8(), c)
		}
		return blend.WriteTIFF(f, r.Picture, c)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// farFirst goes by breathing: focused nearer, a lens that is moved out draws larger.
func farFirst(r *blend.Result) bool {
	const clear = 1.0003
	first, last := r.Used[0].Move.Scale, r.Used[len(r.Used)-1].Move.Scale
	return last/first > clear
}

// mayWrite says why a file must not be written.
func mayWrite(out string, sources []string, replace bool) error {
	st, err := os.Stat(out)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if st.IsDir() {
		return session.Refuse("%s is a folder; name a file in it", out)
	}
	for _, s := range sources {
		if f, err := os.Stat(s); err == nil && os.SameFile(st, f) {
			return session.Refuse("%s is one of the frames, and is not written over", out)
		}
	}
	if !replace {
		return session.Taken("%s exists and is left as it is", out)
	}
	return nil
}

// mayWriteInto says why no file can come into a folder. It is tried with an empty one that is taken away at once;
// where the folder is still to be made, with a folder in the nearest above it that is there.
func mayWriteInto(dir string) error {
	at := filepath.Clean(dir)
	for {
		st, err := os.Stat(at)
		if err == nil && st.IsDir() {
			break
		}
		if err == nil {
			return session.Refuse("%s is a file; name a folder", at)
		}
		up := filepath.Dir(at)
		if gone := errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR); !gone || up == at {
			return session.Fail("%s cannot be written into: %s", dir, errno(err))
		}
		at = up
	}
	if at != filepath.Clean(dir) {
		made, err := os.MkdirTemp(at, ".stillbench-*.part")
		if err != nil {
			return session.Fail("the folder %s cannot be made: %s", dir, errno(err))
		}
		os.Remove(made)
		return nil
	}
	return mayPutInto(dir)
}

// mayPutInto says why no file can come into a folder that has to be there.
func mayPutInto(dir string) error {
	f, err := os.CreateTemp(dir, ".stillbench-*.part")
	if err != nil {
		return session.Fail("%s cannot be written into: %s", dir, errno(err))
	}
	f.Close()
	os.Remove(f.Name())
	return nil
}

// errno is an error of the file system without the name of the file that was tried.
func errno(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// writeWhole writes a file beside its place and gives it its name once it is on the disk.
// Another file of that name is replaced only when that is allowed.
func writeWhole(path string, replace bool, write func(*os.File) error) (err error) {
	temp := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s-%08x.part", filepath.Base(path), rand.Uint32()))
	f, err := os.OpenFile(temp, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return session.Fail("%s cannot be written: %s", path, err)
	}
	defer func() {
		f.Close()
		os.Remove(temp)
		if err != nil && !errors.Is(err, fs.ErrExist) {
			err = session.Fail("%s could not be written, and nothing of it is left: %s", path, err)
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if replace {
		return os.Rename(temp, path)
	}
	// A link fails where the name is taken by now; a rename would replace.
	err = os.Link(temp, path)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		// No hard links here.
		if _, there := os.Lstat(path); there == nil {
			return session.Taken("%s exists by now and is left as it is", path)
		}
		return os.Rename(temp, path)
	}
	return err
}

// blendFile is a frame of a blend as a file.
type blendFile struct {
	path string
	meta *session.Meta
}

func (b *blendFile) open() (*os.File, int64, error) {
	f, err := os.Open(b.path)
	if err != nil {
		return nil, 0, err
	}
	st, err := f.Stat()
	if err == nil && st.IsDir() {
		err = session.Fail("that is a folder")
	}
	if err != nil {
		f.Close()
		return nil, 0, err
	}
	if b.meta == nil {
		m := session.Meta{}
		if md, _ := exifread.Read(f, st.Size()); md != nil {
			m = metaOf(md)
		}
		b.meta = &m
	}
	return f, st.Size(), nil
}

func (b *blendFile) work() (*plane.RGB, error) { return b.reduced(blend.WorkSide) }

func (b *blendFile) reduced(side int) (*plane.RGB, error) {
	f, size, err := b.open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return decode(f, size, *b.meta, side)
}

// full decodes all of it, to 16 bits where the file has as many.
func (b *blendFile) full() (blend.Pixels, error) {
	f, size, err := b.open()
	if err != nil {
		return blend.Pixels{}, err
	}
	defer f.Close()
	if b.meta.Container == "tiff" || b.meta.Container == "png" {
		if size > maxPicture {
			return blend.Pixels{}, session.Fail("the picture takes %d MB, more than the %d MB that are read", size>>20, maxPicture>>20)
		}
		data := make([]byte, size)
		if _, err := f.ReadAt(data, 0); err != nil && !errors.Is(err, io.EOF) {
			return blend.Pixels{}, err
		}
		p, deep, err := plane.DecodeDeep(data)
		if err != nil {
			return blend.Pixels{}, err
		}
		if deep {
			return blend.Pixels{RGB16: p}, nil
		}
	}
	p, err := decode(f, size, *b.meta, 0)
	return blend.Pixels{RGB: p}, err
}

// carried is what the blend takes over from a frame.
func (b *blendFile) carried() (session.Meta, []byte, error) {
	f, size, err := b.open()
	if err != nil {
		return session.Meta{}, nil, err
	}
	defer f.Close()
	off, n := int64(0), size
	if p := b.meta.Preview; p != nil && p.Length > 0 {
		off, n = p.Offset, p.Length
	}
	return *b.meta, exifread.Profile(io.NewSectionReader(f, off, n), n), nil
}
