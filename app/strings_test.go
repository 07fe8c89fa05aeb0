package app

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// What is shown is in assets/words: no string of two words or more, and none that begins like a
// sentence, stands in the window's own files. Keys of preferences, names of types of events and
// of key caps are single words.
func TestStringsAreInWords(t *testing.T) {
	shown := regexp.MustCompile(`[a-z]{2,} +[a-z]{2,}|^[A-Z][a-z]+[ .…:]`)
	known := []string{
		" depth.png",       // the ending of a file's name
		"Shift ←→↑↓",       // caps of keys, translated by their names
		"Page ↑", "Page ↓", //
		"Shift Tab", "Ctrl O", "Ctrl B",
		"ink 1", "ink 2", "ink 3", // names of colours, in tests only
		"B612-Regular.otf", "B612-Bold.otf",
	}
	files := token.NewFileSet()
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && slices.Contains([]string{"gallery", "placetest", "testdata"}, d.Name()) {
			if d != nil && d.IsDir() && err == nil {
				return fs.SkipDir
			}
			return err
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(files, path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec, *ast.Field: // paths, tags of fields
				return false
			case *ast.BasicLit:
				if n.Kind != token.STRING {
					return true
				}
				if s, err := strconv.Unquote(n.Value); err != nil || shown.MatchString(s) && !slices.Contains(known, s) {
					t.Errorf("%s: %s", files.Position(n.Pos()), n.Value)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
