package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// A contract is JSON of the same shape as what it describes. An object lists every field
// that has to be there ("name?" may be null, "name*" may be missing, "*" describes every
// value of a map); others may be there too. A list holds the contract of each of its
// elements, several for a list of fixed length. A string names what a value is: text,
// number, count (a whole number from 0 on), share (0 to 1), flag, "a|b" one of the words a
// and b, or "=a" just a. No text is ever empty: what is not known is null.

// breaches says where a value breaks a contract, as "path: what is wrong".
func breaches(path string, contract, value any) []string {
	wrong := func(format string, args ...any) []string {
		return []string{path + ": " + fmt.Sprintf(format, args...)}
	}
	switch c := contract.(type) {
	case map[string]any:
		v, ok := value.(map[string]any)
		if !ok {
			return wrong("%s is no object", excerpt(value))
		}
		var out []string
		for name, inner := range c {
			if name == "*" {
				for key, val := range v {
					out = append(out, breaches(path+"."+key, inner, val)...)
				}
				continue
			}
			bare := strings.TrimRight(name, "?*")
			val, there := v[bare]
			switch {
			case !there && !strings.Contains(name, "*"):
				out = append(out, path+"."+bare+": is missing")
			case !there, val == nil && strings.Contains(name, "?"):
			default:
				out = append(out, breaches(path+"."+bare, inner, val)...)
			}
		}
		slices.Sort(out)
		return out
	case []any:
		v, ok := value.([]any)
		if !ok {
			return wrong("%s is no list", excerpt(value))
		}
		if len(c) > 1 && len(v) != len(c) {
			return wrong("%d elements, not %d", len(v), len(c))
		}
		var out []string
		for i, val := range v {
			out = append(out, breaches(path+"."+strconv.Itoa(i), c[i%len(c)], val)...)
		}
		return out
	case string:
		if !is(c, value) {
			return wrong("%s is no %s", excerpt(value), c)
		}
		return nil
	}
	panic(fmt.Sprintf("a contract cannot hold %v", contract))
}

func is(what string, value any) bool {
	n, number := value.(float64)
	s, str := value.(string)
	switch what {
	case "text":
		return str && s != ""
	case "number":
		return number
	case "count":
		return number && n >= 0 && n == float64(int64(n))
	case "share":
		return number && n >= 0 && n <= 1
	case "flag":
		_, ok := value.(bool)
		return ok
	}
	if word, ok := strings.CutPrefix(what, "="); ok {
		return str && s == word
	}
	if !strings.Contains(what, "|") {
		panic("a contract knows no " + what)
	}
	return str && slices.Contains(strings.Split(what, "|"), s)
}

// excerpt shows a value, shortened.
func excerpt(value any) string {
	data, _ := json.Marshal(value)
	if len(data) > 60 {
		return string(data[:60]) + "..."
	}
	return string(data)
}

// cmdContract holds one JSON value against a contract; of JSON Lines the contract is
// chosen by the field event: NAME-EVENT.
func cmdContract(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 2, "contract FILE NAME")
	dec := json.NewDecoder(strings.NewReader(ts.ReadFile(args[0])))
	n := 0
	for ; dec.More(); n++ {
		var value any
		ts.Check(dec.Decode(&value))
		name := args[1]
		if v, ok := value.(map[string]any); ok && v["event"] != nil {
			name = fmt.Sprintf("%s-%s", name, v["event"])
		}
		data, err := os.ReadFile(filepath.Join("testdata", "contract", name+".json"))
		ts.Check(err)
		var contract any
		ts.Check(json.Unmarshal(data, &contract))
		if b := breaches("$", contract, value); len(b) > 0 {
			ts.Fatalf("breaks the contract %s:\n%s", name, strings.Join(b, "\n"))
		}
	}
	if n == 0 {
		ts.Fatalf("%s holds no JSON", args[0])
	}
}

// cmdJSON compares the value at a path; a list or an object is written as JSON without
// blanks, a text without its quotes.
func cmdJSON(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 3, "json FILE PATH VALUE")
	var value any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &value))
	for part := range strings.SplitSeq(args[1], ".") {
		switch v := value.(type) {
		case map[string]any:
			inner, ok := v[part]
			if !ok {
				ts.Fatalf("%s: there is no %s", args[1], part)
			}
			value = inner
		case []any:
			if part == "len" {
				value = len(v)
				continue
			}
			i, err := strconv.Atoi(part)
			if err != nil || i < 0 || i >= len(v) {
				ts.Fatalf("%s: there is no %s in a list of %d", args[1], part, len(v))
			}
			value = v[i]
		default:
			ts.Fatalf("%s: there is no %s", args[1], part)
		}
	}
	got, ok := value.(string)
	if !ok {
		var buf bytes.Buffer
		enc := json.NewEncoder(&buf)
		enc.SetEscapeHTML(false)
		ts.Check(enc.Encode(value))
		got = strings.TrimSpace(buf.String())
	}
	if got != args[2] {
		ts.Fatalf("%s is %s, want %s", args[1], got, args[2])
	}
}
