package link

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// KeptRecordings are the recorded lines in a station's data folder: a file
// each, named by its hash, written whole. Any number of goroutines may use it,
// and programs beside this one.
type KeptRecordings struct {
	dir  string
	mu   sync.Mutex      // guards what follows
	good map[string]bool // by hash: read since this program began, and whole
}

const (
	recordingPrefix = "recording-"
	recordingSuffix = ".json"
)

var isHash = regexp.MustCompile(`^[0-9a-f]{64}$`).MatchString

// OpenKeptRecordings are those in a data folder.
func OpenKeptRecordings(dir string) *KeptRecordings {
	return &KeptRecordings{dir: dir, good: map[string]bool{}}
}

func (k *KeptRecordings) file(hash string) string {
	return filepath.Join(k.dir, recordingPrefix+hash+recordingSuffix)
}

// Lacks implements RecordingKeeper. What is damaged counts as lacking.
func (k *KeptRecordings) Lacks(hashes []string) (lacking []string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, h := range hashes {
		if _, err := os.Stat(k.file(h)); err == nil && k.good[h] {
			continue
		}
		if _, err := k.read(h); err != nil {
			lacking = append(lacking, h)
		}
	}
	return lacking
}

// read reads one whole. Call it with mu held.
func (k *KeptRecordings) read(hash string) (Recording, error) {
	var r Recording
	text, err := os.ReadFile(k.file(hash))
	if err == nil {
		err = decode(text, &r)
	}
	if err == nil && r.Hash() != hash {
		err = errors.New("it is damaged")
	}
	if k.good[hash] = err == nil; err != nil {
		return Recording{}, fmt.Errorf("reading the recording %s: %w", hash, err)
	}
	return r, nil
}

// Keep implements RecordingKeeper.
func (k *KeptRecordings) Keep(r Recording) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	hash := r.Hash()
	if err := keepWhole(k.dir, filepath.Base(k.file(hash)), append(asJSON(r), '\n')); err != nil {
		return fmt.Errorf("keeping a recording: %w", err)
	}
	k.good[hash] = true
	return nil
}

// Only implements RecordingKeeper.
func (k *KeptRecordings) Only(hashes []string) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	here, err := k.hashes()
	if err != nil {
		return err
	}
	var wrong []error
	for _, h := range here {
		if slices.Contains(hashes, h) {
			continue
		}
		delete(k.good, h)
		if err := os.Remove(k.file(h)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			wrong = append(wrong, fmt.Errorf("removing a recording: %w", err))
		}
	}
	return errors.Join(wrong...)
}

// hashes are those of the files that are here.
func (k *KeptRecordings) hashes() (out []string, err error) {
	names, err := os.ReadDir(k.dir)
	if err != nil {
		return nil, fmt.Errorf("looking for recordings: %w", err)
	}
	for _, n := range names {
		h := strings.TrimSuffix(strings.TrimPrefix(n.Name(), recordingPrefix), recordingSuffix)
		if isHash(h) && n.Name() == filepath.Base(k.file(h)) {
			out = append(out, h)
		}
	}
	return out, nil
}

// In gives the recordings of a language that are here whole, in order of their
// hash. The error says which are not; they are left out.
func (k *KeptRecordings) In(language string) (all []Recording, err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	here, err := k.hashes()
	if err != nil {
		return nil, err
	}
	var wrong []error
	for _, h := range here {
		r, err := k.read(h)
		switch {
		case errors.Is(err, fs.ErrNotExist): // it has just gone
		case err != nil:
			wrong = append(wrong, err)
		case r.Language == language:
			all = append(all, r)
		}
	}
	return all, errors.Join(wrong...)
}
