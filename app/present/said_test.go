package present

import (
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"stillbench/session"
)

// What the window says in German and French, end to end: the language is chosen once at start, so
// the test starts itself again under each locale.
func TestSaidInOtherLanguages(t *testing.T) {
	if os.Getenv("STILLBENCH_TEST_SAY") == "" {
		for locale, want := range map[string][]string{
			"de_DE.UTF-8": {
				"Zwischen 6 und 7 nachholen.", "f/3.5", "2,5 s", "×0,05", "1,2 %", "2. Mai", "2. Mai 2024", "1.234 Aufnahmen", "1 Aufnahme", "0 Aufnahmen",
				"das Licht ist 1,5 LW heller", "LED-Panel, hinten links", "225", "0.8", "2026-05-02",
				"Leuchte 1: eine Höhe von 90,5 Grad (von -90 bis 90)", "A1.tif lässt sich nicht schreiben: kein Platz auf dem Datenträger", "A2.JPG ist nicht vollständig: 12 überzählige Bytes vor der Marke 0xd9. Ändert sich das, wird die Datei aufgenommen.", "back, front, overhead, window, ",
			},
			"fr_FR.UTF-8": {
				"Compléter entre 6 et 7.", "f/3.5", "2,5 s", "×0,05", "1,2 %", "2 mai", "2 mai 2024", "1\u00a0234 vues", "1 vue", "0 vue",
				"la lumière est plus forte de 1,5 IL", "Panneau LED, arrière gauche", "225", "0.8", "2026-05-02",
				"source 1\u00a0: une élévation de 90,5 degrés (de -90 à 90)", "A1.tif ne peut être écrit\u00a0: plus de place sur le disque", "A2.JPG n’est pas entier\u00a0: 12 octets de trop avant le marqueur 0xd9. Il sera pris en compte quand cela changera.", ", , , , back",
			},
			"C": {
				"Fill in between 6 and 7.", "f/3.5", "2.5 s", "×0.05", "1.2 %", "2 May", "2 May 2024", "1,234 frames", "1 frame", "0 frames",
				"the light is 1.5 EV brighter", "LED panel, back-left", "225", "0.8", "2026-05-02",
				"light 1: an elevation of 90.5 degrees (it is from -90 to 90)", "A1.tif cannot be written: no space left on device", "A2.JPG is not whole: Corrupt JPEG data: 12 extraneous bytes before marker 0xd9. It is taken in when that changes.", ", , , , ",
			},
		} {
			cmd := exec.Command(os.Args[0], "-test.run=^TestSaidInOtherLanguages$")
			cmd.Env = []string{"LANG=" + locale, "STILLBENCH_TEST_SAY=1"}
			out, err := cmd.CombinedOutput()
			if err != nil {
				t.Errorf("%s: %v\n%s", locale, err, out)
				continue
			}
			said, _, _ := strings.Cut(string(out), "\nPASS")
			if got := strings.Split(said, "\n"); strings.Join(got, "|") != strings.Join(want, "|") {
				t.Errorf("%s: said\n%s\nwant\n%s", locale, strings.Join(got, "|"), strings.Join(want, "|"))
			}
		}
		return
	}
	f, shutter, m := 3.5, 2.5, 0.05
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	azimuth, _ := readAzimuth(Side(session.SideBackLeft))
	pupil := PlanAsked{Text: [PlanFields]string{PlanLens: "105 mm, pupil 0.8"}}.read().in.Pupil
	since, _ := ReadDays(Date(time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), now), now)
	light := session.Light{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 30}
	meaning := LightsInEnglish
	said := []string{
		Said(session.Say("Fill in between %d and %d.", 6, 7)), FNumber(&f), Shutter(&shutter), Magnification(&m), Percent(0.012),
		Date(time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC), now), Date(time.Date(2024, 5, 2, 9, 0, 0, 0, time.UTC), now),
		Frames(1234), Frames(1), Frames(0), Said(session.Say("the light is %.1f EV brighter", 1.5)),
		Lights([]session.Light{light})[0].Title + ", " + Side(light.Side()),
		strconv.FormatFloat(azimuth, 'f', -1, 64), strconv.FormatFloat(*pupil, 'f', -1, 64), since.Format("2006-01-02"),
		plain(session.Setup{Lights: []session.Light{{Kind: session.LightLED, ElevationDeg: 90.5}}}.Validate()),
		plain(session.Fail("%s cannot be written: %s", "A1.tif", syscall.ENOSPC)),
		Said(session.Say("%s is not whole: %s. It is taken in when that changes.", "A2.JPG", session.Say("Corrupt JPEG data: %s extraneous bytes before marker %s", "12", "0xd9"))),
		strings.Join([]string{meaning["hinten"], meaning["vorn"], meaning["oben"], meaning["fenster"], meaning["arrière"]}, ", "),
	}
	os.Stdout.WriteString(strings.Join(said, "\n") + "\n")
}
