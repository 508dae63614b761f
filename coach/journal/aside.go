package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// SetAside moves a damaged log into a folder of its own beside it, journal-
// damaged-1 and so on, and returns that folder. The mark stays, so the log
// that [Open] then begins names the entry the old one had come to.
func SetAside(dir string) (string, error) {
	lock, err := takeLock(dir)
	if err != nil {
		return "", err
	}
	defer lock.Close()
	to, err := newFolder(dir)
	if err != nil {
		return "", fmt.Errorf("setting the damaged log aside: %w", err)
	}
	for _, name := range []string{fileName + "-shm", fileName + "-wal", fileName} {
		err := os.Rename(filepath.Join(dir, name), filepath.Join(to, name))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("setting the damaged log aside: %w", err)
		}
	}
	return to, errors.Join(syncFolder(to), syncFolder(dir))
}

func newFolder(dir string) (string, error) {
	for n := 1; ; n++ {
		to := filepath.Join(dir, fmt.Sprintf("journal-damaged-%d", n))
		if err := os.Mkdir(to, 0o700); !errors.Is(err, fs.ErrExist) {
			return to, err
		}
	}
}
