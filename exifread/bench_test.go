package exifread

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
)

// counting counts the bytes that are read.
type counting struct {
	r     io.ReaderAt
	bytes atomic.Int64
}

func (c *counting) ReadAt(p []byte, off int64) (int, error) {
	n, err := c.r.ReadAt(p, off)
	c.bytes.Add(int64(n))
	return n, err
}

// stretched is data followed by zeros up to size: a raw file as large as real ones.
type stretched struct {
	data []byte
	size int64
}

func (s stretched) ReadAt(p []byte, off int64) (int, error) {
	n := int(min(int64(len(p)), s.size-off))
	clear(p[:n])
	if off < int64(len(s.data)) {
		copy(p[:n], s.data[off:])
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// TestALargeRawCostsLittleReading: metadata, preview and wholeness of a raw file of
// 50 MB take less than 1 MB of reading.
func TestALargeRawCostsLittleReading(t *testing.T) {
	const size, most = 50 << 20, 1 << 20
	files := fixtures(t, "arw", "cr2", "cr3", "dng", "nef", "pef", "rw2")
	for i, k := range tiffKindList(t) {
		files[fmt.Sprintf("%s %d", k.container, i)] = k.data
	}
	files["built cr3"] = builtCR3(t)
	for name, data := range files {
		c := &counting{r: stretched{data, size}}
		if m, err := Read(c, size); err != nil || m.Model == "" {
			t.Errorf("%s: %v", name, err)
		}
		if n := c.bytes.Load(); n > most {
			t.Errorf("%s: %d bytes read of %d", name, n, size)
		} else {
			t.Logf("%s: %d bytes read of %d", name, n, size)
		}
	}
}

// mixed makes a folder of n files of all containers: copies of the shared
// collection where it is at hand, else of testdata. (Links would not do: the other
// readers might notice that they are one file.)
func mixed(b *testing.B, n int) (dir string, files []string) {
	source := sharedData
	if _, err := os.Stat(source); err != nil {
		source = filepath.Join("..", "testdata", "exif")
	}
	names, err := filepath.Glob(filepath.Join(source, "*.*"))
	if err != nil {
		b.Fatal(err)
	}
	var originals []string
	for _, name := range names {
		switch filepath.Ext(name) {
		case ".json", ".tsv":
		default:
			originals = append(originals, name)
		}
	}
	dir = b.TempDir()
	for i := range n {
		from := originals[i%len(originals)]
		data, err := os.ReadFile(from)
		if err != nil {
			b.Fatal(err)
		}
		to := filepath.Join(dir, fmt.Sprintf("%04d-%s", i, filepath.Base(from)))
		if err := os.WriteFile(to, data, 0o600); err != nil {
			b.Fatal(err)
		}
		files = append(files, to)
	}
	return dir, files
}

// BenchmarkThousandFiles reads the metadata of 1 000 files of mixed containers from
// a warm cache on one core, and has ExifTool (-fast2, every tag, as JSON) and exiv2
// (its summary) read the same folder where they are installed. Each reports files a
// second.
func BenchmarkThousandFiles(b *testing.B) {
	const n = 1000
	dir, files := mixed(b, n)
	report := func(b *testing.B) {
		b.ReportMetric(float64(n*b.N)/b.Elapsed().Seconds(), "files/s")
	}
	b.Run("exifread", func(b *testing.B) {
		b.ReportAllocs()
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
		for b.Loop() {
			for _, name := range files {
				readFile(b, name)
			}
		}
		report(b)
	})
	for _, tool := range []struct {
		name  string
		args  []string
		found string // printed once a file with a camera in it
	}{
		{"exiftool", []string{"-fast2", "-j", "-n", dir}, `"Make":`},
		{"exiv2", append([]string{"-q", "-ps"}, files...), "Camera model"},
	} {
		path, err := exec.LookPath(tool.name)
		if err != nil {
			continue
		}
		b.Run(tool.name, func(b *testing.B) {
			var out []byte
			for b.Loop() {
				cmd := exec.Command(path, tool.args...)
				if pin, err := exec.LookPath("taskset"); err == nil {
					cmd = exec.Command(pin, append([]string{"-c", "0", path}, tool.args...)...)
				}
				// Both end with an error when a file is damaged, as some here are.
				out, _ = cmd.Output()
			}
			found := bytes.Count(out, []byte(tool.found))
			if found < n/2 {
				b.Fatalf("%s found a camera in %d of %d files", tool.name, found, n)
			}
			report(b)
			b.ReportMetric(float64(found), "found")
		})
	}
}

func readFile(b *testing.B, name string) {
	f, err := os.Open(name)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		b.Fatal(err)
	}
	if _, err := Read(f, info.Size()); err != nil {
		b.Fatalf("%s: %v", name, err)
	}
}

// BenchmarkContainer reads one file of each container from memory.
func BenchmarkContainer(b *testing.B) {
	for _, name := range []string{
		"canon-canon-eos-5d-mark-iii-1.jpg", "exiftool-CanonRaw.cr2", "exiftool-CanonRaw.cr3", "exiftool-Nikon.nef",
		"bep-sample.arw", "bep-sample.dng", "bep-lake.pef", "exiftool-Panasonic.rw2", "exiftool-FujiFilm.raf",
	} {
		b.Run(name, func(b *testing.B) {
			data := fixtures(b, strings.TrimPrefix(filepath.Ext(name), "."))[name]
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read(bytes.NewReader(data), int64(len(data))); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
