// Command icons makes the PNG sizes of the program's icon from its drawing. Run it
// from the repository's root after stillbench.svg has changed:
//
//	go run ./assets/icons
package main

import (
	"fmt"
	"image/png"
	"log"
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/software"
	"fyne.io/fyne/v2/test"
)

// sizes are those that the freedesktop icon theme specification asks applications
// to install, as far as desktops use them.
var sizes = []int{16, 24, 32, 48, 64, 128, 256, 512}

func main() {
	log.SetFlags(0)
	if err := draw(filepath.Join("assets", "icons")); err != nil {
		log.Fatal(err)
	}
}

func draw(dir string) error {
	svg, err := os.ReadFile(filepath.Join(dir, "stillbench.svg"))
	if err != nil {
		return fmt.Errorf("read the drawing: %w", err)
	}
	test.NewApp() // the software painter asks the app for its theme
	for _, n := range sizes {
		img := canvas.NewImageFromResource(fyne.NewStaticResource("stillbench.svg", svg))
		c := software.NewTransparentCanvas()
		c.SetPadded(false)
		c.SetContent(img)
		c.Resize(fyne.NewSize(float32(n), float32(n)))
		out, err := os.Create(filepath.Join(dir, fmt.Sprintf("stillbench-%d.png", n)))
		if err != nil {
			return fmt.Errorf("write an icon: %w", err)
		}
		if err := png.Encode(out, c.Capture()); err != nil {
			return fmt.Errorf("write an icon: %w", err)
		}
		if err := out.Close(); err != nil {
			return fmt.Errorf("write an icon: %w", err)
		}
	}
	return nil
}
