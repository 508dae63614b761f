package speech

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/google/renameio/v2"

	"evenbell/audio/voice"
)

// ErrNoEngine means that no speech program of the language is installed.
var ErrNoEngine = errors.New("no speech program is installed for this language")

const (
	mostKept  = 256     // texts in the cache
	extension = ".clip" // of a text in the cache
	making    = "1"     // changes when the same words would be made to sound otherwise
)

// Typed speaks what somebody typed, and keeps what it spoke in a folder.
type Typed struct {
	folder  string
	engines []Engine
}

// NewTyped speaks with the first of the engines that can. The folder, which
// may be missing, holds the cache; it is for this alone.
func NewTyped(folder string, engines []Engine) *Typed { return &Typed{folder, engines} }

// Say gives a text as a clip: mono, voice.Rate, trimmed, at the packs'
// loudness. A cache that cannot be written only costs time. The error is
// ErrUnspeakable or ErrNoEngine, or says what each engine had against it.
func (t *Typed) Say(ctx context.Context, text string) ([]int16, error) {
	words, err := Clean(text)
	if err != nil {
		return nil, err
	}
	if len(t.engines) == 0 {
		return nil, ErrNoEngine
	}
	var wrong []error
	for _, e := range t.engines {
		file := t.file(e, words)
		if pcm, ok := readCached(file); ok {
			return pcm, nil
		}
		pcm, err := speak(ctx, e, words)
		if err == nil {
			t.keep(file, pcm)
			return pcm, nil
		}
		wrong = append(wrong, err)
	}
	return nil, errors.Join(wrong...)
}

// speak makes a clip of words that Clean gave.
func speak(ctx context.Context, e Engine, words string) ([]int16, error) {
	sound, err := e.Speak(ctx, words)
	if err != nil {
		return nil, err
	}
	clip, err := Shape(sound)
	if err != nil {
		return nil, fmt.Errorf("shaping what %s spoke: %w", e.Name(), err)
	}
	return voice.Double(PCM(clip)), nil
}

// PCM gives samples from −1 to 1 as 16 bits.
func PCM(clip []float64) []int16 {
	out := make([]int16, len(clip))
	for i, x := range clip {
		out[i] = int16(math.Round(32767 * max(-1, min(1, x))))
	}
	return out
}

// file names the words' place in the cache by everything that shapes their
// sound.
func (t *Typed) file(e Engine, words string) string {
	sum := sha256.Sum256([]byte(making + "\n" + e.Name() + "\n" + words))
	return filepath.Join(t.folder, hex.EncodeToString(sum[:])+extension)
}

// readCached reads a kept clip: its SHA-256, then its samples, low byte first.
func readCached(file string) ([]int16, bool) {
	data, err := os.ReadFile(file)
	if err != nil || len(data) <= sha256.Size || len(data)%2 != 0 {
		return nil, false
	}
	if sum := sha256.Sum256(data[sha256.Size:]); string(sum[:]) != string(data[:sha256.Size]) {
		return nil, false
	}
	pcm := make([]int16, (len(data)-sha256.Size)/2)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(data[sha256.Size+2*i:]))
	}
	return pcm, true
}

// keep writes a clip into the cache, whole or not at all, and drops those
// written longest ago where there are too many. Only its owner may read what
// was typed about a person.
func (t *Typed) keep(file string, pcm []int16) {
	if os.MkdirAll(t.folder, 0o700) != nil {
		return
	}
	data := make([]byte, sha256.Size, sha256.Size+2*len(pcm))
	for _, x := range pcm {
		data = binary.LittleEndian.AppendUint16(data, uint16(x))
	}
	sum := sha256.Sum256(data[sha256.Size:])
	copy(data, sum[:])
	if renameio.WriteFile(file, data, 0o600) == nil {
		t.drop()
	}
}

// drop takes out what is too much of the cache.
func (t *Typed) drop() {
	names, err := os.ReadDir(t.folder)
	if err != nil {
		return
	}
	type kept struct {
		file string
		when int64
	}
	var all []kept
	for _, n := range names {
		if info, err := n.Info(); err == nil && strings.HasSuffix(n.Name(), extension) {
			all = append(all, kept{filepath.Join(t.folder, n.Name()), info.ModTime().UnixNano()})
		}
	}
	slices.SortFunc(all, func(a, b kept) int { return int(min(1, max(-1, b.when-a.when))) })
	for _, k := range all[min(mostKept, len(all)):] {
		_ = os.Remove(k.file)
	}
}
