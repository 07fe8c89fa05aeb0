package handoff

import (
	"fmt"
	"math"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"stillbench/session"
)

// DefaultPattern names the folder of a stack where no pattern was given.
const DefaultPattern = "{date} {number} {subject} {aperture}"

// Fields are the words that a pattern may hold in braces:
//
//	{date}      day of the first frame, 2026-05-16
//	{time}      its time of day, 10.11.12
//	{subject}   the stack's name, else the setup's subject
//	{number}    of the stack in its session, with zeros in front: 04
//	{aperture}  f10, f3.5
//	{frames}    how many frames it has
//	{setup}     number of the setup in the log
//	{side}      where the main light stood: back-left
//	{height}    how high it stood: high
//	{session}   name of the session's folder
//
// All else stands as it is; "/" makes a folder in a folder, and "{{" a brace. What is not
// known leaves nothing, and no double blank either.
var Fields = []string{"date", "time", "subject", "number", "aperture", "frames", "setup", "side", "height", "session"}

// CheckPattern says what is wrong with a pattern.
func CheckPattern(s string) error {
	_, err := parsePattern(s)
	return err
}

// pattern is a pattern taken apart: texts at even places, names of fields at odd ones.
type pattern []string

func parsePattern(s string) (pattern, error) {
	if strings.TrimSpace(s) == "" {
		s = DefaultPattern
	}
	if !utf8.ValidString(s) {
		return nil, session.Refuse("the pattern is not UTF-8")
	}
	p := pattern{""}
	for s != "" {
		switch {
		case strings.HasPrefix(s, "{{"), strings.HasPrefix(s, "}}"):
			p[len(p)-1] += s[:1]
			s = s[2:]
		case s[0] == '{':
			name, rest, ok := strings.Cut(s[1:], "}")
			if !ok {
				return nil, session.Refuse("the pattern has { without }")
			}
			if !slices.Contains(Fields, name) {
				return nil, session.Refuse("a pattern knows no {%s}; there are {%s}", name, strings.Join(Fields, "} {"))
			}
			p = append(p, name, "")
			s = rest
		case s[0] == '}':
			return nil, session.Refuse("the pattern has } without {")
		default:
			p[len(p)-1] += s[:1]
			s = s[1:]
		}
	}
	return p, nil
}

// folder gives the relative path, with "/", of a stack's folder. digits is how many the
// number has at least.
func (p pattern) folder(k Stack, dir string, digits int) string {
	var b strings.Builder
	for i, part := range p {
		if i%2 == 0 {
			b.WriteString(part)
			continue
		}
		b.WriteString(strings.ReplaceAll(k.field(part, dir, digits), "/", "_"))
	}
	var parts []string
	for part := range strings.SplitSeq(b.String(), "/") {
		if part = cleanFolder(part); part != "" {
			parts = append(parts, part)
		}
	}
	if len(parts) == 0 {
		return k.say(session.Say("stack %s", fmt.Sprintf("%0*d", digits, k.Number)))
	}
	return path.Join(parts...)
}

func (k Stack) field(name, dir string, digits int) string {
	first := k.Frames[0].Meta
	switch name {
	case "date":
		if !first.Taken.IsZero() {
			return first.Taken.Format("2006-01-02")
		}
	case "time":
		if !first.Taken.IsZero() {
			return first.Taken.Format("15.04.05")
		}
	case "subject":
		return k.Subject()
	case "number":
		return fmt.Sprintf("%0*d", digits, k.Number)
	case "aperture":
		return strings.ReplaceAll(aperture(first), "/", "")
	case "frames":
		return fmt.Sprint(len(k.Kept()))
	case "setup":
		if k.Setup != nil {
			return fmt.Sprint(k.Setup.ID)
		}
	case "side", "height":
		if l := k.mainLight(); l != nil {
			if name == "side" {
				return k.say(session.Text{Form: string(l.Side())})
			}
			return k.say(session.Text{Form: string(l.Height())})
		}
	case "session":
		return path.Base(dir)
	}
	return ""
}

// mainLight is the first light of the setup that gives light; nil when there is none.
func (k Stack) mainLight() *session.Light {
	if k.Setup == nil {
		return nil
	}
	for i, l := range k.Setup.Lights {
		if l.Kind != session.LightCard && l.Kind != session.LightFlag {
			return &k.Setup.Lights[i]
		}
	}
	return nil
}

// maxName is the longest name of a file or folder, in bytes, that Linux file systems hold.
const maxName = 255

// What Windows forbids in a name, and names that it keeps for devices, with any ending
// (Microsoft, "Naming Files, Paths, and Namespaces").
const forbidden = `<>:"/\|?*`

var devices = []string{"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"}

func isDevice(name string) bool {
	stem, _, _ := strings.Cut(name, ".")
	stem = strings.ToUpper(strings.TrimRight(stem, " "))
	if slices.Contains(devices, stem) {
		return true
	}
	port, ok := strings.CutPrefix(stem, "COM")
	if !ok {
		port, ok = strings.CutPrefix(stem, "LPT")
	}
	return ok && utf8.RuneCountInString(port) == 1 && strings.ContainsAny(port, "123456789¹²³")
}

// clean makes of any text what may stand in a name everywhere: NFC, "_" for what is
// forbidden and for what cannot be seen. It does not shorten.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError, strings.ContainsRune(forbidden, r), unicode.IsControl(r), !unicode.IsGraphic(r):
			return '_'
		}
		return r
	}, strings.ToValidUTF8(s, "_"))
	return norm.NFC.String(s)
}

// cleanFolder makes the name of a folder; "" when nothing is left. It begins with no dot,
// which would hide it, and no dash, which a command line would take for a flag.
func cleanFolder(s string) string {
	s = strings.Join(strings.Fields(clean(s)), " ")
	s = strings.TrimLeft(s, " .-·")
	s = shorten(s, maxName)
	s = strings.TrimRight(s, " .-·")
	if isDevice(s) {
		s = shorten("_"+s, maxName)
	}
	return s
}

// cleanFile makes the name of a file and keeps its ending.
func cleanFile(s string) string {
	s = strings.TrimRight(clean(s), " .")
	if s == "" {
		s = "_"
	}
	if s[0] == '.' {
		s = "_" + s[1:]
	}
	if isDevice(s) {
		s = "_" + s
	}
	return fit(s, "")
}

// fit puts a suffix between a file's stem and its ending, and shortens the stem so that all
// fits. A RAW with its sidecar and JPEG keep one stem that way.
func fit(name, suffix string) string {
	ext := path.Ext(name)
	if len(ext) > 16 {
		ext = ""
	}
	stem := strings.TrimSuffix(name, ext)
	return shorten(stem, maxName-len(ext)-len(suffix)) + suffix + ext
}

// shorten cuts a text to at most n bytes, between characters and not between a letter and
// its accent.
func shorten(s string, n int) string {
	if len(s) <= n {
		return s
	}
	n = max(n, 0)
	for n > 0 {
		if r, _ := utf8.DecodeRuneInString(s[n:]); utf8.RuneStart(s[n]) && !unicode.Is(unicode.M, r) {
			break
		}
		n--
	}
	return strings.TrimRight(s[:n], " ")
}

// names keeps apart what case-blind and case-keeping file systems take for the same name.
type names map[string]bool

// key is equal for names that some file system takes for the same.
func key(p string) string { return norm.NFC.String(cases.Fold().String(norm.NFC.String(p))) }

func (n names) taken(p string) bool { return n[key(p)] }
func (n names) take(p string)       { n[key(p)] = true }

// nth gives a suffix for the second, third ... of a name: "", " (2)", " (3)".
func nth(i int) string {
	if i < 2 {
		return ""
	}
	return fmt.Sprintf(" (%d)", i)
}

func round(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p) / p
}
