//go:build !linux

package handoff

import "errors"

func mountSmall(string, string) (unmount func(), err error) {
	return nil, errors.New("only on Linux")
}
