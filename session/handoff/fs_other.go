//go:build !linux

package handoff

import (
	"errors"
	"os"
	"syscall"
)

var errNoClone = errors.New("not on this system")

func free(string) int64               { return -1 }
func renameNew(from, to string) error { return renameLooked(from, to) }
func clone(_, _ *os.File) error       { return errNoClone }
func flock(*os.File) error            { return nil }
func cannotClone(err error) bool      { return errors.Is(err, errNoClone) }
func otherDisk(err error) bool        { return errors.Is(err, syscall.EXDEV) }
func full(err error) bool             { return errors.Is(err, syscall.ENOSPC) }
