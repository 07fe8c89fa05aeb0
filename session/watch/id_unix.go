//go:build unix

package watch

import (
	"io/fs"
	"syscall"
)

// fileID is what makes two names the same file on disk. The zero value is no file.
type fileID struct{ dev, ino uint64 }

func idIn(info fs.FileInfo) fileID {
	if st, ok := info.Sys().(*syscall.Stat_t); ok {
		return fileID{uint64(st.Dev), uint64(st.Ino)}
	}
	return fileID{}
}
