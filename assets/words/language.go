package words

import (
	"embed"
	"slices"
	"strings"

	"github.com/jeandeaual/go-locale"
	"github.com/leonelquinteros/gotext"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// translations are gettext files by language: de.po, fr.po.
//
//go:embed *.po
var translations embed.FS

// English comes first: what else the system speaks falls back on it.
var languages = []language.Tag{language.BritishEnglish, language.German, language.French}

// Language is that of the window, chosen once at start from the system's locale, with the
// region where the system names one (de-CH), for its numbers.
var Language = choose(systemLocales())

var spoken = catalogue(Language)

// systemLocales are those that the photographer set, the preferred first.
func systemLocales() []string {
	set, err := locale.GetLocales()
	if err != nil { // the system does not tell: English
		return nil
	}
	return set
}

// choose matches what is wished for, the preferred first, with what there is.
func choose(wished []string) language.Tag {
	for _, w := range wished {
		tag, err := language.Parse(w)
		if err != nil {
			continue
		}
		base, _ := tag.Base()
		if slices.ContainsFunc(languages, func(l language.Tag) bool { b, _ := l.Base(); return b == base }) {
			if base.String() == "en" { // one English, however it is written elsewhere
				return language.BritishEnglish
			}
			return tag
		}
	}
	return language.BritishEnglish
}

// catalogue reads the translation into a language, by the English; where one English string is
// said in different ways, by the variable's name and the English. It is empty for English.
func catalogue(tag language.Tag) map[[2]string]string {
	said := map[[2]string]string{}
	base, _ := tag.Base()
	text, err := translations.ReadFile(base.String() + ".po")
	if err != nil {
		return said
	}
	po := gotext.NewPo()
	po.Parse(text)
	for english, t := range po.GetDomain().GetTranslations() {
		said[[2]string{"", english}] = t.Get()
	}
	for name, of := range po.GetDomain().GetCtxTranslations() {
		for english, t := range of {
			said[[2]string{name, english}] = t.Get()
		}
	}
	delete(said, [2]string{}) // the file's head
	return said
}

// say is what stands for an English string in the language of the window; the English where
// it is not translated.
func say(english string) string { return sayAs("", english) }

// sayAs is say where one English string is said in different ways in different places: name is
// the variable's own, and the translation's msgctxt.
func sayAs(name, english string) string {
	if said := spoken[[2]string{name, english}]; said != "" {
		return said
	}
	if said := spoken[[2]string{"", english}]; said != "" {
		return said
	}
	return english
}

// Of is a word or sentence of the engine (a side, a kind of light, a form of session.Text) in
// the language of the window; the English where it is not translated.
func Of(english string) string { return say(english) }

// Plural picks the form that goes with n: "one" for 1 in English and German, for 0 and 1 in
// French (Unicode CLDR, cardinal plural rules).
func Plural(n int, one, many string) string {
	if plural.Cardinal.MatchPlural(Language, n, 0, 0, 0, 0) == plural.One {
		return one
	}
	return many
}

// Lower is a text as it goes on within a sentence that another began. German keeps its
// capitals, which nouns have anywhere.
func Lower(s string) string {
	if base, _ := Language.Base(); base.String() == "de" {
		return s
	}
	return strings.ToLower(s)
}
