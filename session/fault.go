package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"reflect"
	"strings"
)

// Fault is an error that keeps what it says as a Text, so that the window can say it in its own
// language.
type Fault struct {
	Text
	kind  error // ErrInvalid, ErrNotFound, fs.ErrExist; nil
	wraps []error
}

// Fail makes an error. The form is written out as for Say; an argument that is an error is
// wrapped, and said within the sentence.
func Fail(form string, args ...any) error { return fault(nil, form, args) }

// Refuse is Fail of a value that breaks a rule: it wraps ErrInvalid.
func Refuse(form string, args ...any) error { return fault(ErrInvalid, form, args) }

// Missing is Fail of what is not there: it wraps ErrNotFound.
func Missing(form string, args ...any) error { return fault(ErrNotFound, form, args) }

// Taken is Fail of a name that something has already: it wraps fs.ErrExist.
func Taken(form string, args ...any) error { return fault(fs.ErrExist, form, args) }

func fault(kind error, form string, args []any) *Fault {
	f := &Fault{Text: Text{form, make([]any, len(args))}, kind: kind}
	for i, a := range args {
		f.Args[i] = f.arg(a)
	}
	return f
}

// arg makes one of a text's arguments of what was given, and wraps what is an error.
func (f *Fault) arg(a any) any {
	switch a := a.(type) {
	case Text, float64:
		return a
	case error:
		f.wraps = append(f.wraps, a)
		return TextOf(a)
	}
	switch v := reflect.ValueOf(a); {
	case v.CanInt():
		return int(v.Int())
	case v.Kind() == reflect.String:
		return v.String()
	}
	return fmt.Sprint(a)
}

// Error is the text in English, after the kind of fault.
func (f *Fault) Error() string {
	if f.kind == nil {
		return f.String()
	}
	return f.kind.Error() + ": " + f.String()
}

// Unwrap gives the kind of fault and the errors among the arguments.
func (f *Fault) Unwrap() []error {
	if f.kind == nil {
		return f.wraps
	}
	return append([]error{f.kind}, f.wraps...)
}

// TextOf is what an error says: the text of a Fault without its kind, the system's reason and the
// file that it concerns, else the error's own words, which a translation may know.
func TextOf(err error) Text {
	switch e := err.(type) {
	case *Fault:
		return e.Text
	case *fs.PathError:
		return Text{"%s: %s", []any{e.Path, TextOf(e.Err)}}
	case *os.LinkError:
		return Text{"%s: %s", []any{e.New, TextOf(e.Err)}}
	}
	if of := errors.Unwrap(err); of != nil && of.Error() == err.Error() { // it adds no words
		return TextOf(of)
	}
	if e, ok := err.(interface{ Unwrap() []error }); ok && len(e.Unwrap()) == 1 && e.Unwrap()[0].Error() == err.Error() {
		return TextOf(e.Unwrap()[0]) // joined with nothing
	}
	if parts := Joined(err); len(parts) > 1 {
		said := TextOf(parts[0])
		for _, p := range parts[1:] {
			said = Text{"%s; %s", []any{said, TextOf(p)}}
		}
		return said
	}
	text := err.Error()
	for _, kind := range []error{ErrInvalid, ErrNotFound} {
		if errors.Is(err, kind) {
			text = strings.ReplaceAll(text, kind.Error()+": ", "")
		}
	}
	return Text{Form: text}
}

// Joined are the errors that errors.Join put into one; any other error alone.
func Joined(err error) []error {
	if e, ok := err.(interface{ Unwrap() []error }); ok {
		parts := e.Unwrap()
		if errors.Join(parts...).Error() == err.Error() {
			return parts
		}
	}
	return []error{err}
}
