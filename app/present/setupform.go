package present

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
)

// FormLight is a light as it is typed.
type FormLight struct{ Kind, Round, Up, Away, Modifier, Power, Kelvin string }

// FormLightOf writes a light into fields.
func FormLightOf(l session.Light) FormLight {
	f := FormLight{Kind: Kind(l.Kind), Round: plainNumber(l.AzimuthDeg), Up: plainNumber(l.ElevationDeg), Modifier: l.Modifier, Power: l.Power}
	if l.DistanceCM != nil {
		f.Away = plainNumber(*l.DistanceCM)
	}
	if l.ColourK != nil {
		f.Kelvin = strconv.Itoa(*l.ColourK)
	}
	return f
}

func plainNumber(v float64) string {
	return words.Localised(strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64))
}

// Read makes a light of the fields; wrong names what cannot be, "" when all can. Round is
// in degrees from the camera by its right, or a side in words ("back-left"), in the window's language or in English; away in
// centimetres, or metres with "m".
func (f FormLight) Read() (l session.Light, wrong string) {
	bad := func(field, text string) (session.Light, string) {
		return session.Light{}, fmt.Sprintf(words.FormWrongF, Capital(field), text)
	}
	l.Modifier, l.Power = strings.TrimSpace(f.Modifier), strings.TrimSpace(f.Power)
	kind := strings.TrimSpace(f.Kind)
	for _, k := range session.LightKinds {
		if kind != "" && (begins(Kind(k), kind) || begins(string(k), kind)) {
			l.Kind = k
			break
		}
	}
	if l.Kind == "" {
		return bad(words.FieldKind, f.Kind)
	}
	var ok bool
	if l.AzimuthDeg, ok = readAzimuth(f.Round); !ok {
		return bad(words.FieldSide, f.Round)
	}
	if l.ElevationDeg, ok = readDegrees(f.Up); !ok || l.ElevationDeg < -90 || l.ElevationDeg > 90 {
		return bad(words.FieldHeight, f.Up)
	}
	if text := strings.ToLower(strings.TrimSpace(f.Away)); text != "" {
		cm := number(strings.TrimSuffix(text, "cm"))
		if m, metres := strings.CutSuffix(text, "m"); metres && cm == 0 {
			cm = 100 * number(m)
		}
		if cm <= 0 || cm > 10000 {
			return bad(words.FieldAway, f.Away)
		}
		l.DistanceCM = &cm
	}
	if text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(f.Kelvin), "K")); text != "" {
		k, err := strconv.Atoi(text)
		if err != nil || k < 1000 || k > 40000 {
			return bad(words.FieldColour, f.Kelvin)
		}
		l.ColourK = &k
	}
	return l, ""
}

// begins tells whether a word begins with what was typed of it.
func begins(word, typed string) bool {
	return strings.HasPrefix(strings.ToLower(word), strings.ToLower(typed))
}

// readDegrees reads an angle; nothing typed is 0.
func readDegrees(text string) (float64, bool) {
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), words.UnitDeg))
	if text == "" {
		return 0, true
	}
	v, err := strconv.ParseFloat(strings.ReplaceAll(strings.ReplaceAll(text, ",", "."), "−", "-"), 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// readAzimuth reads degrees, or a side in words, which stands for its middle.
func readAzimuth(text string) (float64, bool) {
	if v, ok := readDegrees(text); ok {
		return session.NormalAzimuth(v), true
	}
	for i, side := range session.Sides {
		if strings.EqualFold(strings.TrimSpace(text), Side(side)) || strings.EqualFold(strings.TrimSpace(text), string(side)) {
			return 45 * float64(i), true
		}
	}
	return 0, false
}

// ReadTags parts tags at their commas.
func ReadTags(text string) []string {
	var out []string
	for t := range strings.SplitSeq(text, ",") {
		if t = strings.TrimSpace(t); t != "" {
			out = append(out, t)
		}
	}
	return out
}
