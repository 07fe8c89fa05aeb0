package store

import (
	"context"
	"database/sql"
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

// match makes an FTS5 expression of any text: each word must occur, the last as the
// beginning of one. Every word is quoted, so that nothing in it means anything to the
// expression. It is "" when the text holds no word.
func match(text string) string {
	words := phrases(text)
	if len(words) == 0 {
		return ""
	}
	parts := make([]string, len(words))
	for i, w := range words {
		parts[i] = quote(w)
	}
	return strings.Join(parts, " AND ") + "*"
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

// quote makes an FTS5 string of words that follow each other.
func quote(words []string) string { return `"` + strings.Join(words, " ") + `"` }

// forgive makes the expression again for a query that found nothing: each word that
// stands in no setup is replaced by those of the log that differ from it by a slip of the
// hand or two. It is "" where that does not help.
func forgive(ctx context.Context, tx *sql.Tx, text string) (string, error) {
	words := phrases(text)
	var terms []string // of the whole log, read when they are needed
	parts := make([]string, len(words))
	for i, w := range words {
		last := i == len(words)-1
		parts[i] = quote(w)
		if last {
			parts[i] += "*"
		}
		var found bool
		if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM setup_words WHERE setup_words MATCH ?)`, parts[i]).Scan(&found); err != nil {
			return "", err
		}
		if found {
			continue
		}
		if terms == nil {
			var all sql.NullString
			if err := tx.QueryRowContext(ctx, `SELECT group_concat(term, ' ') FROM words`).Scan(&all); err != nil {
				return "", err
			}
			terms = strings.Fields(all.String)
		}
		near := nearest(w, terms, last)
		if len(near) == 0 {
			return "", nil
		}
		for j := range near {
			near[j] = quote([]string{near[j]})
		}
		parts[i] = "(" + strings.Join(near, " OR ") + ")"
	}
	return strings.Join(parts, " AND "), nil
}

// most is how many words of the log may stand for a mistyped one.
const most = 8

// nearest picks the terms that a single mistyped word may have meant, nearest first: one
// slip in words of four to seven letters, two in longer ones, none in shorter ones or in
// numbers. With prefix the word may be the beginning of the term.
func nearest(words []string, terms []string, prefix bool) []string {
	if len(words) != 1 {
		return nil
	}
	w := []rune(words[0])
	slips := 0
	switch {
	case strings.ContainsFunc(words[0], unicode.IsNumber):
	case len(w) >= 8:
		slips = 2
	case len(w) >= 4:
		slips = 1
	}
	by := make([][]string, slips+1)
	for _, t := range terms {
		if len(t) < len(words[0])-4*slips || !prefix && len(t) > len(words[0])+4*slips {
			continue // a letter is at most four bytes
		}
		if d := distance(w, []rune(t), prefix); d <= slips {
			by[d] = append(by[d], t)
		}
	}
	var out []string
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
