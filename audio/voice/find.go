package voice

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"evenbell/sounds"
)

// Folder is where a data folder has voice packs of its own, one folder each.
const Folder = "voices"

// Find opens the pack of a name: the one in the data folder's voices, if there
// is one, else the built-in one. An empty data folder means the built-in one.
// A pack that is there but not whole is an error, not passed over.
func Find(name, data string) (*Pack, error) {
	if !fs.ValidPath(name) || strings.ContainsAny(name, `./\`) {
		return nil, fmt.Errorf("%q is no name of a voice pack", name)
	}
	if data != "" {
		dir := filepath.Join(data, Folder, name)
		_, err := os.Stat(dir)
		switch {
		case err == nil:
			return open(os.DirFS(dir), dir)
		case !errors.Is(err, fs.ErrNotExist):
			return nil, fmt.Errorf("looking for the voice %s: %w", name, err)
		}
	}
	names, err := BuiltIn()
	if err != nil {
		return nil, err
	}
	if !slices.Contains(names, name) {
		return nil, fmt.Errorf("there is no voice %q; built in: %s", name, strings.Join(names, ", "))
	}
	dir, err := fs.Sub(sounds.FS, name)
	if err != nil {
		return nil, fmt.Errorf("opening the voice %s: %w", name, err)
	}
	return open(dir, "the built-in "+name)
}

// BuiltIn lists the packs the program carries, in alphabetical order.
func BuiltIn() ([]string, error) {
	dirs, err := fs.ReadDir(sounds.FS, ".")
	if err != nil {
		return nil, fmt.Errorf("listing the built-in voices: %w", err)
	}
	var out []string
	for _, d := range dirs {
		out = append(out, d.Name())
	}
	return out, nil
}

func open(fsys fs.FS, where string) (*Pack, error) {
	p, err := Open(fsys)
	if err != nil {
		return nil, fmt.Errorf("opening the voice in %s: %w", where, err)
	}
	return p, nil
}
