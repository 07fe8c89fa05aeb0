package handoff

import "golang.org/x/sys/unix"

// mountSmall mounts a small disk in memory.
func mountSmall(dir, size string) (unmount func(), err error) {
	return func() { unix.Unmount(dir, unix.MNT_DETACH) }, unix.Mount("none", dir, "tmpfs", 0, size)
}
