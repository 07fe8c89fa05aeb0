package words_test

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/optics"
)

// languages are those that the window is translated into.
var languages = []string{"de", "fr"}

// english is a string that must be translated, and where it stands. name is that of the
// variable, where the translation goes by it.
type english struct{ name, text, where string }

// strings of this package, and forms that the engine says things by.
func sources(t *testing.T) (out []english) {
	t.Helper()
	files := token.NewFileSet()
	each := func(root string, visit func(path string, n ast.Node)) {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			f, err := parser.ParseFile(files, path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(f, func(n ast.Node) bool { visit(path, n); return true })
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	literal := func(e ast.Expr) (string, bool) {
		l, ok := e.(*ast.BasicLit)
		if !ok || l.Kind != token.STRING {
			return "", false
		}
		s, err := strconv.Unquote(l.Value)
		return s, err == nil
	}
	where := func(n ast.Node) string { return files.Position(n.Pos()).String() }
	each(".", func(path string, n ast.Node) {
		if spec, ok := n.(*ast.ValueSpec); ok {
			for i, v := range spec.Values { // a name that the translation goes by is the variable's own
				if call, ok := v.(*ast.CallExpr); ok && isCalled(call, "sayAs") && len(spec.Names) == len(spec.Values) {
					if name, _ := literal(call.Args[0]); name != spec.Names[i].Name {
						t.Errorf("%s: %s is translated as %q", where(call), spec.Names[i].Name, name)
					}
				}
			}
		}
		call, ok := n.(*ast.CallExpr)
		if !ok || path == "language.go" {
			return
		}
		name := ""
		switch {
		case isCalled(call, "sayAs"):
			name, _ = literal(call.Args[0])
		case !isCalled(call, "say"):
			return
		}
		text, ok := literal(call.Args[len(call.Args)-1])
		if !ok {
			t.Errorf("%s: what is translated must be written out", where(call))
		}
		out = append(out, english{name, text, where(call)})
	})
	said := func(path string, n ast.Node) {
		call, ok := n.(*ast.CallExpr)
		if !ok || !slices.ContainsFunc([]string{"Say", "Fail", "Refuse", "Missing", "Taken"}, func(f string) bool { return isCalled(call, f) }) {
			return
		}
		text, ok := literal(call.Args[0])
		if !ok {
			t.Errorf("%s: a form must be written out where something is said by it", where(call))
		}
		if word.MatchString(verb.ReplaceAllString(text, "")) {
			out = append(out, english{"", text, where(call)})
		}
	}
	each("../../session", said)
	each("../../store", said)
	each("../../cmd", said)
	each("../../exifread", func(path string, n ast.Node) { // imports nothing of ours
		var form ast.Expr
		switch n := n.(type) {
		case *ast.CallExpr:
			if isCalled(n, "brokenAt") {
				form = n.Args[1]
			}
		case *ast.CompositeLit:
			if name, ok := n.Type.(*ast.Ident); ok && name.Name == "What" && len(n.Elts) > 0 {
				form = n.Elts[0]
				if kv, ok := form.(*ast.KeyValueExpr); ok {
					form = kv.Value
				}
			}
		}
		if text, ok := literal(form); ok {
			out = append(out, english{"", text, where(n)})
		}
	})
	each("../../session/watch", func(path string, n ast.Node) { // imports nothing of ours
		c, ok := n.(*ast.CompositeLit)
		if !ok || len(c.Elts) == 0 {
			return
		}
		if name, ok := c.Type.(*ast.Ident); !ok || name.Name != "Problem" {
			return
		}
		form := c.Elts[0]
		if kv, ok := form.(*ast.KeyValueExpr); ok {
			form = kv.Value
		}
		if text, ok := literal(form); ok {
			out = append(out, english{"", text, where(c)})
		} else {
			t.Errorf("%s: a problem must be written out", where(c))
		}
	})
	// optics imports nothing of ours to say things by: what is wrong with a value goes through
	// complain, its name is the last argument of value, and cautions and notes are sentences.
	each("../../session/optics", func(path string, n ast.Node) {
		say := func(e ast.Expr) {
			if text, ok := literal(e); ok {
				out = append(out, english{"", text, where(e)})
			}
		}
		switch n := n.(type) {
		case *ast.CallExpr:
			switch {
			case isCalled(n, "complain"):
				say(n.Args[1])
			case isCalled(n, "value"):
				say(n.Args[len(n.Args)-1])
			}
		case *ast.BasicLit:
			if text, ok := literal(n); ok && sentence.MatchString(text) && slices.Contains([]string{"cautions.go", "plan.go"}, filepath.Base(path)) {
				say(n)
			}
		}
	})
	says := func(where, s string) { out = append(out, english{"", s, where}) }
	for _, s := range session.Sides {
		says("session.Sides", string(s))
	}
	for _, s := range session.Heights {
		says("session.Heights", string(s))
	}
	for _, s := range session.LightKinds {
		says("session.LightKinds", string(s))
	}
	for _, k := range []session.Kind{session.KindMarker, session.KindStack, session.KindSingle, session.KindTest} {
		says("session.Kind", string(k))
	}
	for _, c := range blend.Characters {
		name, use := c.Words()
		says("blend.Characters", name)
		says("blend.Characters", use)
	}
	for _, f := range optics.Formats {
		says("optics.Formats", f.Name)
	}
	for _, c := range optics.Conventions {
		says("optics.Conventions", c.Name)
	}
	// Whys within the engine's sentences that are the system's own, or the watcher's.
	for _, e := range []syscall.Errno{syscall.EACCES, syscall.ENOENT, syscall.ENOSPC, syscall.EIO, syscall.EROFS} {
		says("syscall", e.Error())
	}
	says("session/watch", "it ends too early")
	// What libjpeg-turbo says most often of a damaged file (jerror.h), its numbers taken out.
	for _, s := range []string{
		"Premature end of JPEG file",
		"Corrupt JPEG data: premature end of data segment",
		"Corrupt JPEG data: bad Huffman code",
		"Corrupt JPEG data: bad arithmetic code",
		"Corrupt JPEG data: %s extraneous bytes before marker %s",
		"Corrupt JPEG data: found marker %s instead of RST%s",
		"Bogus Huffman table definition",
		"Bogus marker length",
		"Huffman table %s was not defined",
		"Quantization table %s was not defined",
		"Invalid JPEG file structure: two SOI markers",
		"Invalid JPEG file structure: SOS before SOF",
		"Unsupported JPEG process: SOF type %s",
		"Unsupported marker type %s",
		"Progressive JPEG image has more than %s scans",
	} {
		says("libjpeg-turbo", s)
	}
	says("io", io.ErrUnexpectedEOF.Error())
	return out
}

func isCalled(call *ast.CallExpr, name string) bool {
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return f.Name == name
	case *ast.SelectorExpr:
		return f.Sel.Name == name
	}
	return false
}

// entry is one of a translation.
type entry struct {
	name, text, said string
	same             bool // said to be the same in both languages
}

// entries reads a gettext file by its lines: GNU gettext manual, "The Format of PO Files".
func entries(t *testing.T, language string) (out []entry) {
	t.Helper()
	data, err := os.ReadFile(language + ".po")
	if err != nil {
		t.Fatal(err)
	}
	for block := range bytes.SplitSeq(data, []byte("\n\n")) {
		var e entry
		found := false
		for line := range strings.SplitSeq(string(block), "\n") {
			e.same = e.same || line == "# the same in both languages"
			for key, to := range map[string]*string{"msgctxt ": &e.name, "msgid ": &e.text, "msgstr ": &e.said} {
				if quoted, ok := strings.CutPrefix(line, key); ok {
					if *to, err = strconv.Unquote(quoted); err != nil {
						t.Errorf("%s.po: %s: %v", language, line, err)
					}
					found = true
				}
			}
		}
		if found && e.text != "" {
			out = append(out, e)
		}
	}
	return out
}

// Every English string is translated, once; what is translated is said somewhere; nothing is left
// in English that is not marked as being the same.
func TestTranslated(t *testing.T) {
	said := sources(t)
	for _, language := range languages {
		list := entries(t, language)
		type key struct{ name, text string }
		known := map[key]bool{}
		for _, e := range list {
			k := key{e.name, e.text}
			if known[k] {
				t.Errorf("%s.po: %q stands there twice", language, e.text)
			}
			known[k] = true
			if e.said == e.text && word.MatchString(verb.ReplaceAllString(e.text, "")) && !e.same {
				t.Errorf("%s.po: %q is not translated", language, e.text)
			}
			if e.said == "" {
				t.Errorf("%s.po: nothing stands for %q", language, e.text)
			}
		}
		used := map[key]bool{}
		for _, s := range said {
			k := key{s.name, s.text}
			if s.name != "" && !known[k] {
				k.name = ""
			}
			if !known[k] {
				t.Errorf("%s.po lacks %q of %s", language, s.text, s.where)
			}
			used[k] = true
		}
		for _, e := range list {
			if !used[key{e.name, e.text}] && !elsewhere(e.text) {
				t.Errorf("%s.po: nobody says %q (%s)", language, e.text, e.name)
			}
		}
	}
}

// elsewhere tells what is said by other files, and found in them by its words.
func elsewhere(text string) bool {
	for _, dir := range []string{"../../app"} {
		found := false
		_ = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err == nil && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
				data, err := os.ReadFile(path)
				found = found || err == nil && bytes.Contains(data, []byte(strconv.Quote(text)))
			}
			return nil
		})
		if found {
			return true
		}
	}
	return false
}

// sentence is a sentence.
var sentence = regexp.MustCompile(`^[A-Z][a-z]* .*\.$`)

// word tells words from units and signs.
var word = regexp.MustCompile(`[a-z]{2}`)

// verb is a verb of fmt: [index] flags width precision verb.
var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([-+# 0]*\d*(?:\.\d+)?)([a-zA-Z%])`)

// verbs are the verbs of a format by the argument that each takes.
func verbs(t *testing.T, format string) []string {
	var out []string
	at := 0
	for _, m := range verb.FindAllStringSubmatch(format, -1) {
		if m[3] == "%" {
			continue
		}
		if m[1] != "" {
			n, err := strconv.Atoi(m[1])
			if err != nil || n < 1 {
				t.Errorf("%q: index %s", format, m[1])
				continue
			}
			at = n - 1
		}
		for len(out) <= at {
			out = append(out, "")
		}
		out[at] = m[2] + m[3]
		at++
	}
	return out
}

// A translation formats the same arguments: the same verbs in the same order, or with indices.
func TestVerbs(t *testing.T) {
	for _, language := range languages {
		for _, e := range entries(t, language) {
			if want, got := verbs(t, e.text), verbs(t, e.said); isFormat(e.text) && !slices.Equal(want, got) {
				t.Errorf("%s.po: %q takes %v, %q takes %v", language, e.text, want, e.said, got)
			}
		}
	}
}

// isFormat tells a format from a text in which a sign for per cent stands.
func isFormat(text string) bool {
	return len(verb.FindAllString(text, -1)) > 0 && !strings.HasSuffix(text, " %")
}

// French sets a space that does not break before : ; ? ! and within its quotation marks
// (Lexique des règles typographiques en usage à l'Imprimerie nationale); the marks of German are
// „ and “, of French « and ».
func TestTypography(t *testing.T) {
	for _, e := range entries(t, "fr") {
		if m := regexp.MustCompile(`[^\x{00a0}\x{202f}:][:;?!»](?:\s|$)|«[^\x{00a0}]`).FindString(e.said); m != "" && !strings.Contains(m, "%") {
			t.Errorf("fr.po: %q in %q", m, e.said)
		}
		if strings.ContainsAny(e.said, "“”„'") {
			t.Errorf("fr.po: marks in %q", e.said)
		}
	}
	for _, e := range entries(t, "de") {
		if strings.ContainsAny(e.said, "”«»'") {
			t.Errorf("de.po: marks in %q", e.said)
		}
	}
	// Whatever stands there can be drawn: nothing but what the typeface has.
	if s := fmt.Sprint(entries(t, "de"), entries(t, "fr")); strings.Contains(s, "\u202f") {
		t.Error("the typeface has no U+202F")
	}
}
