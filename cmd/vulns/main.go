// Command vulns reads what govulncheck found (-format json) and fails if it matters.
//
// Known vulnerabilities that our code reaches count, but for those of packages that only
// ever speak to a network: the window's toolkit is linked with them, and Stillbench opens no
// connection (the test of the real window traces its system calls).
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
)

// network are the standard library's packages that have nothing to do without a connection.
var network = []string{"net", "net/http", "net/textproto", "mime/multipart", "crypto/tls", "crypto/x509"}

func main() {
	if err := run(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintf(os.Stderr, "vulns: %v\n", err)
		os.Exit(1)
	}
}

// message is what govulncheck's stream of JSON objects holds of interest
// (golang.org/x/vuln/internal/govulncheck: Message).
type message struct {
	Config *struct {
		DB string `json:"db"`
	} `json:"config"`
	Finding *struct {
		OSV   string  `json:"osv"`
		Fixed string  `json:"fixed_version"`
		Trace []frame `json:"trace"` // from what is vulnerable to our own code
	} `json:"finding"`
}

type frame struct {
	Module   string `json:"module"`
	Version  string `json:"version"`
	Package  string `json:"package"`
	Function string `json:"function"` // "" where the module or package is only required
}

func run(r io.Reader, w io.Writer) error {
	matters, spared := map[string]bool{}, map[string]bool{}
	scanned := false
	for d := json.NewDecoder(r); ; {
		var m message
		if err := d.Decode(&m); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return err
		}
		scanned = scanned || m.Config != nil
		if m.Finding == nil || len(m.Finding.Trace) == 0 || m.Finding.Trace[0].Function == "" {
			continue
		}
		f := m.Finding.Trace[0]
		line := fmt.Sprintf("%s in %s of %s %s, mended in %s", m.Finding.OSV, f.Package, f.Module, f.Version, m.Finding.Fixed)
		if slices.Contains(network, f.Package) {
			spared[line] = true
		} else {
			matters[line] = true
		}
	}
	if !scanned {
		return errors.New("govulncheck has not run")
	}
	if len(spared) > 0 {
		fmt.Fprintf(w, "%d known vulnerabilities need a network connection, which Stillbench never opens.\n", len(spared))
	}
	if len(matters) > 0 {
		return errors.New("known vulnerabilities are reached:\n" + strings.Join(slices.Sorted(maps.Keys(matters)), "\n"))
	}
	return nil
}
