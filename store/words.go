package store

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// tokens takes a text apart into words as they are kept and looked up: compatibility
// forms and accents folded (Unicode NFKD without combining marks of the Latin, Greek,
// Cyrillic, Hebrew, Arabic and Kana scripts), small letters. Chinese and Japanese characters,
// which stand without spaces, and emoji are words of their own. Everything else only
// separates words.
func tokens(text string) []string {
	var out []string
	var word strings.Builder
	end := func() {
		if word.Len() > 0 {
			out = append(out, word.String())
			word.Reset()
		}
	}
	for _, r := range norm.NFKD.String(text) {
		switch {
		case accent(r):
		case r >= 0x2000 && r != unicode.ReplacementChar && unicode.Is(unicode.So, r), unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana):
			end()
			word.WriteRune(r)
			end()
		case unicode.In(r, unicode.L, unicode.M, unicode.N, unicode.Co) && !unicode.Is(unicode.Variation_Selector, r):
			r = unicode.ToLower(r)
			if plain, ok := unmarked[r]; ok {
				word.WriteString(plain)
			} else {
				word.WriteRune(r)
			}
		default:
			end()
		}
	}
	end()
	return out
}

// accent reports whether a combining mark is left out of words.
func accent(r rune) bool {
	switch {
	case r >= 0x0300 && r <= 0x036F, r >= 0x0591 && r <= 0x05C7, r >= 0x064B && r <= 0x065F, r == 0x0670, r == 0x3099, r == 0x309A:
		return unicode.Is(unicode.Mn, r)
	}
	return false
}

// unmarked are letters whose mark Unicode does not take apart, as people without the key
// write them.
var unmarked = map[rune]string{
	'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'đ': "d", 'ð': "d", 'þ': "th", 'ł': "l", 'ħ': "h", 'ŧ': "t", 'ı': "i", 'ς': "σ",
}

// phrases cuts a query at its spaces; what stands together ("back-left") is looked up
// together.
func phrases(text string) [][]string {
	var out [][]string
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || r == 0 }) {
		if t := tokens(w); len(t) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// lookUp finds the setups that hold each part of a query, the last as the beginning of a
// word. Where no setup holds them all, each part that stands in none is replaced by the words
// that begin with it, or else by those that differ from it by a slip of the hand or two; meant
// is then the query as it was looked up. Parts are nil where nothing is found. meaning is that of
// session.SetupQuery.
func (w *wordIndex) lookUp(words [][]string, meaning map[string]string) (parts []holders, meant string) {
	parts = make([]holders, len(words))
	for i, part := range words {
		last := i == len(words)-1
		parts[i] = w.hold(part, last)
		for _, english := range inEnglish(part, last, meaning) {
			parts[i].or(w.hold(english, false))
		}
	}
	if w.anyHolds(parts) {
		return w.rated(parts), ""
	}
	said := make([]string, len(words))
	replaced := false
	for i, part := range words {
		said[i] = strings.Join(part, " ")
		if parts[i].count > 0 {
			continue
		}
		if begun := w.hold(part, true); begun.count > 0 {
			parts[i], said[i], replaced = begun, said[i]+"…", true
			continue
		}
		near := w.nearest(part, i == len(words)-1)
		if len(near) == 0 {
			return nil, ""
		}
		var spans [][2]uint32
		var texts []string
		for _, term := range near {
			spans = append(spans, [2]uint32{term, term + 1})
			texts = append(texts, w.terms[term])
		}
		parts[i], said[i], replaced = w.holdAny(spans), strings.Join(texts, " / "), true
	}
	if !replaced || !w.anyHolds(parts) {
		return nil, ""
	}
	return w.rated(parts), strings.Join(said, " ")
}

// inEnglish gives what the words of a part of a query mean by a list of meanings; more than one
// thing where the last is the beginning of several, nothing where none is in the list.
func inEnglish(part []string, prefix bool, meaning map[string]string) [][]string {
	out := [][]string{nil}
	known := false
	for i, word := range part {
		means := map[string]bool{}
		for foreign, english := range meaning {
			if f := folded(foreign); f == word || prefix && i == len(part)-1 && strings.HasPrefix(f, word) {
				means[english] = true
			}
		}
		known = known || len(means) > 0
		if len(means) == 0 {
			means[word] = true
		}
		var longer [][]string
		for _, so := range out {
			for m := range means {
				longer = append(longer, append(slices.Clone(so), m))
			}
		}
		out = longer
	}
	if !known {
		return nil
	}
	return out
}

// rated fills in how rare the parts are.
func (w *wordIndex) rated(parts []holders) []holders {
	for i := range parts {
		parts[i].rare = w.rarity(parts[i].count)
	}
	return parts
}

// anyHolds reports whether any setup holds all parts.
func (w *wordIndex) anyHolds(parts []holders) bool {
	for i := range parts {
		if parts[i].count == 0 {
			return false
		}
	}
	for id := range w.records {
		if !slices.ContainsFunc(parts, func(h holders) bool { return h.weight[id] == 0 }) {
			return true
		}
	}
	return false
}

// most is how many words of the log may stand for a mistyped one.
const most = 8

// nearest picks the terms, as places, that a single mistyped word may have meant, nearest
// first: one slip in words of four to seven letters, two in longer ones, none in shorter ones
// or in numbers. With prefix the word may be the beginning of the term.
func (w *wordIndex) nearest(words []string, prefix bool) []uint32 {
	if len(words) != 1 {
		return nil
	}
	word := []rune(words[0])
	slips := 0
	switch {
	case strings.ContainsFunc(words[0], unicode.IsNumber):
	case len(word) >= 8:
		slips = 2
	case len(word) >= 4:
		slips = 1
	}
	by := make([][]uint32, slips+1)
	for i, t := range w.terms {
		if len(t) < len(words[0])-4*slips || !prefix && len(t) > len(words[0])+4*slips || !w.stands(i) {
			continue // a letter is at most four bytes
		}
		if d := distance(word, []rune(t), prefix); d <= slips {
			by[d] = append(by[d], uint32(i))
		}
	}
	var out []uint32
	for d := 1; d <= slips; d++ {
		out = append(out, by[d]...)
	}
	return out[:min(len(out), most)]
}

// distance is the least number of letters put in, left out, changed or swapped with their
// neighbour that makes b of a (optimal string alignment: Damerau, Communications of the
// ACM 7(3), 1964, each place changed once). With prefix the end of b is free.
func distance(a, b []rune, prefix bool) int {
	if prefix && len(b) > len(a)+2 {
		b = b[:len(a)+2]
	}
	before, above := make([]int, len(b)+1), make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := above[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			row[j] = min(change, above[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, above, row = above, row, before
	}
	if !prefix {
		return above[len(b)]
	}
	least := above[0]
	for _, d := range above {
		least = min(least, d)
	}
	return least
}
