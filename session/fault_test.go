package session

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"testing"
)

// A fault reads in English as one sentence, is found by what it wraps, and keeps its form and
// what goes into it apart.
func TestFault(t *testing.T) {
	full := &fs.PathError{Op: "write", Path: "/out/a.tif", Err: syscall.ENOSPC}
	for _, c := range []struct {
		err    error
		said   string // by the error
		text   string // without the kind
		form   string
		is     error
		isNone error
	}{
		{Refuse("a magnification of %g", 120.0), "not valid: a magnification of 120", "a magnification of 120", "a magnification of %g", ErrInvalid, ErrNotFound},
		{Fail("light %d: %s", int64(2), Refuse("%s is no kind", LightKind("torch"))), "light 2: torch is no kind", "light 2: torch is no kind", "light %d: %s", ErrInvalid, ErrNotFound},
		{Missing("setup %d", 4), "not in the log: setup 4", "setup 4", "setup %d", ErrNotFound, ErrInvalid},
		{Taken("%s exists", "a.tif"), "file already exists: a.tif exists", "a.tif exists", "%s exists", fs.ErrExist, ErrInvalid},
		{Fail("%s cannot be written: %s", "a.tif", full), "a.tif cannot be written: /out/a.tif: no space left on device", "a.tif cannot be written: /out/a.tif: no space left on device", "%s cannot be written: %s", syscall.ENOSPC, ErrInvalid},
		{Fail("stopped: %s", context.Canceled), "stopped: context canceled", "stopped: context canceled", "stopped: %s", context.Canceled, ErrInvalid},
		{errors.Join(Refuse("a"), Fail("b")), "not valid: a\nb", "a; b", "%s; %s", ErrInvalid, ErrNotFound},
		{errors.Join(Fail("%s is away", "a"), nil), "a is away", "a is away", "%s is away", nil, ErrInvalid},
		{fmt.Errorf("read: %w", Refuse("a")), "read: not valid: a", "read: a", "read: a", ErrInvalid, ErrNotFound},
		{errors.New("100 % gone"), "100 % gone", "100 % gone", "100 % gone", nil, ErrInvalid},
	} {
		if c.err.Error() != c.said {
			t.Errorf("error %q, want %q", c.err, c.said)
		}
		if got := TextOf(c.err); got.String() != c.text || got.Form != c.form {
			t.Errorf("text %q of form %q, want %q of %q", got, got.Form, c.text, c.form)
		}
		if c.is != nil && !errors.Is(c.err, c.is) || errors.Is(c.err, c.isNone) {
			t.Errorf("%v: kind", c.err)
		}
	}
	var f *Fault
	if err := (Setup{Lights: []Light{{Kind: LightLED, AzimuthDeg: 400}}}).Validate(); !errors.As(err, &f) || f.Args[0] != 1 {
		t.Errorf("%v does not say which light", err)
	}
}
