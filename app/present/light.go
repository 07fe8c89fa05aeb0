package present

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"stillbench/assets/words"
	"stillbench/session"
)

// LightLine is one light of a setup in words.
type LightLine struct {
	Title string // "LED panel, diffuser"
	Where string // "back-left · high · 40 cm · 40 W"
	Place string // "back-left · high · 40 cm"
}

// Lights puts lights into words.
func Lights(lights []session.Light) []LightLine {
	out := make([]LightLine, len(lights))
	for i, l := range lights {
		title := Kind(l.Kind)
		if l.Modifier != "" {
			title += ", " + l.Modifier
		}
		where := []string{Side(l.Side()), Height(l.Height())}
		if l.DistanceCM != nil {
			where = append(where, Distance(*l.DistanceCM))
		}
		place := strings.Join(where, " · ")
		if l.Power != "" {
			where = append(where, l.Power)
		}
		if l.ColourK != nil {
			where = append(where, fmt.Sprintf("%d K", *l.ColourK))
		}
		out[i] = LightLine{Title: Capital(title), Where: strings.Join(where, " · "), Place: place}
	}
	return out
}

// Distance writes a distance given in centimetres: 40 cm, 1.1 m.
func Distance(cm float64) string {
	if cm >= 100 {
		return tenths(cm/100) + " m"
	}
	return fmt.Sprintf("%.0f cm", cm)
}

// Capital begins a text with a capital letter.
func Capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// Setup is a setup as the Table shows it.
type Setup struct {
	ID             int64
	Heading        string // "Setup 9"
	Subject, Notes string
	Background     bool // something stands behind the table
	Lights         []session.Light
	Lines          []LightLine
}

// SetupOf puts a setup into words; one without a number reads as not logged.
func SetupOf(s session.Setup) Setup {
	out := Setup{ID: s.ID, Heading: words.NoSetup, Subject: s.Subject, Notes: s.Notes, Background: s.Background != "", Lights: s.Lights, Lines: Lights(s.Lights)}
	if s.ID != 0 {
		out.Heading = fmt.Sprintf(words.SetupF, s.ID)
	}
	return out
}
