package optics

import (
	"slices"
	"strings"
)

// Scene is what a caution can depend on.
type Scene struct {
	// ShutterSeconds are the exposure times in play; empty when they are not known.
	ShutterSeconds []float64
	// ElectronicCurtain: the exposure begins without a moving curtain.
	ElectronicCurtain bool
	// Lights in words, one a light: "LED panel, 40 W, diffuser".
	Lights []string
	// Words are what is known of subject, background, support and notes.
	Words string
	// MainsHz is 50 or 60; 0 means 50.
	MainsHz float64
}

// Caution is a short note for the table.
type Caution struct {
	// Key names the rule that applies.
	Key CautionKey `json:"key"`
	// Sentence is what to say.
	Sentence string `json:"sentence"`
}

// CautionKey names a caution.
type CautionKey string

// The cautions, people first.
const (
	CautionEyes      CautionKey = "eyes"
	CautionUV        CautionKey = "ultraviolet"
	CautionHeat      CautionKey = "heat"
	CautionMains     CautionKey = "mains"
	CautionStands    CautionKey = "stands"
	CautionPlants    CautionKey = "plants"
	CautionTools     CautionKey = "tools"
	CautionVibration CautionKey = "vibration"
	CautionFlicker   CautionKey = "flicker"
)

// Deference belongs under every list of cautions.
const Deference = "The makers' instructions and local rules go before these notes; mains wiring is work for a licensed electrician."

// shutterShock is the span of exposure times in which the camera's own first curtain
// shows most, from 1/125 to 1/4 s (a photographer's measurements, ayton.id.au).
var shutterShock = [2]float64{1.0 / 130, 0.26}

// noticeableEV is the difference of brightness between frames that a blend begins to
// show as banding (our own choice).
const noticeableEV = 0.1

// What photographers write of lights and subjects: in English, German and French, in whichever
// the log is kept.
var (
	flashWords = []string{"flash", "strobe", "speedlight", "blitz", "blitze", "blitzlicht", "blitzgerät", "aufsteckblitz", "studioblitz"}
	hotWords   = []string{"lamp", "halogen", "tungsten", "bulb", "incandescent", "fresnel", "hot light",
		"lampe", "lampen", "halogenlampe", "glühlampe", "glühbirne", "scheinwerfer", "halogène", "tungstène", "ampoule", "projecteur"}
	brightWords = append([]string{"led", "torch", "spot", "taschenlampe", "strahler", "torche"}, flashWords...)
	uvWords     = []string{"uv", "ultraviolet", "black light", "blacklight", "ultraviolett", "schwarzlicht", "lumière noire"}
	mainsWords  = slices.Concat([]string{"led", "panel", "panneau", "leuchte", "leuchten"}, hotWords, flashWords)
	standWords  = append([]string{"card", "flag", "softbox", "aufheller", "réflecteur", "drapeau"}, mainsWords...)
	dryWords    = []string{"dry", "dried", "paper", "straw", "moss", "cone", "seed", "pod", "feather", "wood", "cloth", "lint", "husk",
		"trocken", "getrocknet", "papier", "stroh", "moos", "zapfen", "kiefernzapfen", "samen", "feder", "holz", "stoff",
		"sèche", "séché", "séchée", "paille", "mousse", "cône", "graine", "gousse", "plume", "bois", "tissu"}
	waterWords = []string{"water", "wet", "drop", "droplet", "spray", "mist", "aquarium", "tank", "ice", "dew", "rain",
		"wasser", "nass", "tropfen", "wassertropfen", "nebel", "eis", "tau", "regen", "eau", "mouillé", "goutte", "gouttelette", "brume", "glace", "rosée", "pluie"}
	plantWords = []string{"plant", "leaf", "leaves", "sap", "stem", "seed", "pod", "fungus", "mushroom", "lichen", "moss", "cactus", "thorn", "nettle", "pollen", "berry", "resin",
		"pflanze", "pflanzen", "blatt", "blätter", "stängel", "samen", "pilz", "pilze", "flechte", "moos", "kaktus", "dorn", "dornen", "nessel", "brennnessel", "beere", "beeren", "harz",
		"plante", "feuille", "sève", "tige", "graine", "gousse", "champignon", "mousse", "épine", "ortie", "baie", "résine"}
	toolWords = []string{"knife", "scalpel", "blade", "needle", "pin", "tweezers", "glass", "razor", "wire",
		"messer", "skalpell", "klinge", "nadel", "nadeln", "pinzette", "glas", "draht", "couteau", "lame", "aiguille", "épingle", "verre"}
)

// Cautions gives the cautions that apply to a scene, people first, at most one of each
// kind. The rules go by whole words; they cannot know what nobody has written down.
// Bright lamps at close range: IEC 62471 assesses lamps at 20 cm and sorts them into
// risk groups; a table is often nearer than that.
func Cautions(s Scene) []Caution {
	var out []Caution
	say := func(when bool, key CautionKey, sentence string) {
		if when {
			out = append(out, Caution{key, sentence})
		}
	}
	lights := wordsOf(strings.Join(s.Lights, " "))
	words := wordsOf(s.Words)
	bright, hot := lights.any(brightWords), lights.any(hotWords)
	say(bright, CautionEyes, "Do not look into the LED or flash, least of all at arm's length or nearer; switch it off or turn it away before you bend down. Its risk group (IEC 62471) is in the maker's sheet.")
	say(lights.any(uvWords), CautionUV, "Ultraviolet is not seen and still burns: shield the lamp, wear glasses made for it, keep skin covered.")
	switch {
	case hot && words.any(dryWords):
		say(true, CautionHeat, "Keep the lamp well away from dry material, never leave it on alone, and let it cool before you touch it.")
	case hot:
		say(true, CautionHeat, "Let the lamp cool before you touch or turn it, and keep cloth and paper away from it.")
	}
	say(words.any(waterWords) && lights.any(mainsWords), CautionMains, "Keep water away from everything on the mains: plugs high and dry, a residual-current device in the line, hands dry before you switch.")
	say(lights.any(standWords), CautionStands, "Put a weight on the foot of each stand and tape its cable to the floor.")
	say(words.any(plantWords), CautionPlants, "Some plants and fungi irritate skin and eyes: gloves where you do not know them, and wash your hands.")
	say(words.any(toolWords) && !words["de pin"], CautionTools, "Lay blades, pins and glass down where your hand will not find them in the dark.")
	shaky, flicker := false, false
	hz := s.MainsHz
	if hz == 0 {
		hz = 50
	}
	for _, t := range s.ShutterSeconds {
		shaky = shaky || t >= shutterShock[0]
		// A lamp that goes out wholly between two peaks is the worst case.
		flicker = flicker || FlickerEV(t, hz, 1) > noticeableEV
	}
	if shaky {
		sentence := "Wait two seconds after touching anything and release from a distance, or let flash alone make the exposure."
		for _, t := range s.ShutterSeconds {
			if !s.ElectronicCurtain && t >= shutterShock[0] && t <= shutterShock[1] {
				sentence = "Between 1/125 and 1/4 s the shutter shakes the camera by itself: use an electronic first curtain or flash, and wait after touching."
				break
			}
		}
		say(true, CautionVibration, sentence)
	}
	say(flicker && lights.any(mainsWords) && !onlyFlash(s.Lights), CautionFlicker, wholePeriods(hz))
	return out
}

// wholePeriods names exposures that take in whole flicker periods.
func wholePeriods(hz float64) string {
	if hz == 60 {
		return "Lamps on the mains flicker: at short times frames come out unequally bright. Use a time of 1/10 s or more, or exactly 1/60 or 1/30 s."
	}
	return "Lamps on the mains flicker: at short times frames come out unequally bright. Use a time of 1/10 s or more, or exactly 1/100, 1/50 or 1/25 s."
}

func onlyFlash(lights []string) bool {
	for _, l := range lights {
		w := wordsOf(l)
		if w.any(mainsWords) && !w.any(flashWords) {
			return false
		}
	}
	return true
}

// wordSet is the words of a text in lower case.
type wordSet map[string]bool

func wordsOf(text string) wordSet {
	set := wordSet{}
	fields := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return strings.ContainsRune(" \t\r\n,.;:()/\"'’-", r)
	})
	for i, w := range fields {
		set[w] = true
		set[strings.TrimSuffix(w, "s")] = true
		if i > 0 {
			set[fields[i-1]+" "+w] = true
		}
	}
	return set
}

func (s wordSet) any(words []string) bool {
	for _, w := range words {
		if s[w] {
			return true
		}
	}
	return false
}
