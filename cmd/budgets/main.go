// Command budgets prints what the benchmarks measured beside what was asked.
//
//	go test -bench . ./... | budgets --commit ID FILE
//	                                         keeps the output in FILE, then prints the table
//	budgets --compare OLD NEW                prints the tables of two kept files side by side
//
// The files are in the Go benchmark data format (golang.org/design/14313-benchmark-format), with
// the day and the commit in front, so that other tools can compare them as well.
package main

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"
)

func main() {
	compare := flag.Bool("compare", false, "print two kept files side by side")
	commit := flag.String("commit", "unknown", "what is measured, to be kept with it")
	flag.Parse()
	if err := run(*compare, *commit, flag.Args()); err != nil {
		fmt.Fprintf(os.Stderr, "budgets: %v\n", err)
		os.Exit(1)
	}
}

func run(compare bool, commit string, files []string) error {
	switch {
	case compare && len(files) == 2:
		var sides []figures
		for _, name := range files {
			f, err := os.Open(name)
			if err != nil {
				return err
			}
			got, err := parse(f)
			f.Close()
			if err != nil {
				return err
			}
			sides = append(sides, got)
		}
		return table(os.Stdout, sides...)
	case !compare && len(files) == 1:
		got, failed, err := keep(os.Stdin, os.Stdout, files[0], commit)
		if err != nil {
			return err
		}
		if err := table(os.Stdout, got); err != nil {
			return err
		}
		if failed {
			return fmt.Errorf("a benchmark failed")
		}
		return nil
	}
	return fmt.Errorf("usage: budgets [--commit ID] FILE, or budgets --compare OLD NEW")
}

// keep copies benchmarks' output to the screen and into a file, and gives its figures.
func keep(in io.Reader, screen io.Writer, name, commit string) (got figures, failed bool, err error) {
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		return nil, false, err
	}
	f, err := os.Create(name)
	if err != nil {
		return nil, false, err
	}
	defer f.Close()
	fmt.Fprintf(f, "date: %s\ncommit: %s\n", time.Now().Format(time.RFC3339), commit)
	var all strings.Builder
	if _, err := io.Copy(io.MultiWriter(screen, f, &all), in); err != nil {
		return nil, false, err
	}
	got, err = parse(strings.NewReader(all.String()))
	return got, strings.Contains("\n"+all.String(), "\nFAIL"), err
}

// figures are what was measured, by benchmark and unit: "BenchmarkJoin/30_frames s/frame".
type figures map[string]float64

// parse reads the Go benchmark data format. Of a benchmark that ran twice the last counts.
func parse(r io.Reader) (figures, error) {
	out := figures{}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		field := strings.Fields(lines.Text())
		if len(field) < 4 || !strings.HasPrefix(field[0], "Benchmark") || len(field)%2 != 0 {
			continue
		}
		name := field[0]
		if i := strings.LastIndexByte(name, '-'); i > 0 {
			if _, err := strconv.Atoi(name[i+1:]); err == nil { // how many processors
				name = name[:i]
			}
		}
		for i := 2; i < len(field); i += 2 {
			v, err := strconv.ParseFloat(field[i], 64)
			if err != nil {
				break
			}
			out[name+" "+field[i+1]] = v
		}
	}
	return out, lines.Err()
}

// table prints a line for each budget, with a column for each of the runs.
func table(w io.Writer, runs ...figures) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "\nissue\twhat\tasked")
	for range runs {
		fmt.Fprint(t, "\tmeasured\tbeside its reference\t")
	}
	fmt.Fprintln(t)
	for _, b := range budgets {
		fmt.Fprintf(t, "%s\t%s\t%s %s", b.issue, b.what, b.sign(), b.number(b.limit))
		for _, f := range runs {
			v, ok := b.value(f)
			beside, besideOK := "-", false
			if b.beside != nil {
				var r float64
				if r, besideOK = b.beside(f); besideOK {
					beside = fmt.Sprintf("%.3g x %s", r, b.reference)
				}
			}
			switch {
			case !ok:
				fmt.Fprint(t, "\tnot measured\t-\t")
			case b.within(v):
				fmt.Fprintf(t, "\t%s\t%s\twithin", b.number(v), beside)
			default:
				fmt.Fprintf(t, "\t%s\t%s\tFALLS SHORT", b.number(v), beside)
			}
		}
		fmt.Fprintln(t)
	}
	return t.Flush()
}
