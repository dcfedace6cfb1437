package journal

import (
	"fmt"
	"syscall"
)

// Space is the room on the disk of a folder, in bytes.
type Space struct{ Free, Total uint64 }

func spaceOf(dir string) (Space, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return Space{}, fmt.Errorf("measure the disk of %s: %w", dir, err)
	}
	size := uint64(st.Bsize)
	return Space{st.Bavail * size, st.Blocks * size}, nil
}

// reserveFor is what must stay free: JetStream only times out on a full disk and
// needs a restart afterwards, so writing stops before that. It is 5 % of the disk, and no less than 512 MiB.
func reserveFor(total uint64) uint64 { return max(total/20, 512<<20) }
