package watch

import "golang.org/x/sys/unix"

// remote reports whether changes made elsewhere can happen in dir without an event
// here: network and FUSE file systems (inotify(7), "Limitations and caveats").
func remote(dir string) bool {
	var st unix.Statfs_t
	if err := unix.Statfs(dir, &st); err != nil {
		return false
	}
	switch uint32(st.Type) { // magic numbers from statfs(2) and linux/magic.h
	case unix.NFS_SUPER_MAGIC, unix.SMB_SUPER_MAGIC, unix.SMB2_SUPER_MAGIC, unix.CIFS_SUPER_MAGIC,
		unix.FUSE_SUPER_MAGIC, unix.V9FS_MAGIC, unix.CEPH_SUPER_MAGIC, unix.AFS_SUPER_MAGIC,
		unix.AFS_FS_MAGIC, unix.CODA_SUPER_MAGIC, unix.NCP_SUPER_MAGIC,
		0x786f4256, // VirtualBox shared folders
		0xbacbacbc: // VMware shared folders
		return true
	}
	return false
}
