// Command make renders the demo session's frames by its recipe into assets/demo/frames. Run
// it from the repository's root after a change to the recipe or to assets/scene:
//
//	go run ./assets/demo/make
//
// It takes some minutes. With arguments, only frames of these names are kept.
package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"stillbench/assets/demo"
)

func main() {
	dir := filepath.Join("assets", "demo", "frames")
	total := 0
	err := demo.Render(context.Background(), func(name string, data []byte) error {
		if len(os.Args) > 1 && !slices.Contains(os.Args[1:], name) {
			return nil
		}
		total += len(data)
		fmt.Printf("%s %d kB, %d kB in all\n", name, len(data)>>10, total>>10)
		return os.WriteFile(filepath.Join(dir, strings.TrimSuffix(name, ".JPG")+".jpg"), data, 0o644)
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
