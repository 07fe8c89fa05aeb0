package handoff

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// free is how many bytes a user may still write where a folder lies; -1 when not known.
func free(dir string) int64 {
	var st unix.Statfs_t
	if unix.Statfs(dir, &st) != nil || st.Bsize <= 0 {
		return -1
	}
	return int64(st.Bavail) * int64(st.Bsize)
}

// renameNew renames and never replaces: the error is fs.ErrExist when something is there.
func renameNew(from, to string) error {
	err := unix.Renameat2(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.RENAME_NOREPLACE)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.ENOTSUP) {
		return renameLooked(from, to) // a file system that cannot promise it
	}
	if err != nil {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: err}
	}
	return nil
}

// clone lets dst share the blocks of src (ioctl_ficlone(2)).
func clone(dst, src *os.File) error { return unix.IoctlFileClone(int(dst.Fd()), int(src.Fd())) }

// flock takes a lock that ends with the process; errLocked when another has it.
func flock(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return errLocked
	}
	return err
}

// cannotClone: the file system has no shared blocks, or not between these two places.
func cannotClone(err error) bool {
	for _, e := range []error{unix.EOPNOTSUPP, unix.EXDEV, unix.EINVAL, unix.ENOTTY, unix.ENOSYS, unix.EPERM} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// otherDisk: the two places lie on different file systems.
func otherDisk(err error) bool { return errors.Is(err, unix.EXDEV) }

// full: there is no room, by the disk or by the user's quota.
func full(err error) bool { return errors.Is(err, unix.ENOSPC) || errors.Is(err, unix.EDQUOT) }
