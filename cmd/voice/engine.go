package main

import (
	"context"
	_ "embed"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"evenbell/audio/speech"
	"evenbell/coach/script"
)

// reader reads a script's lines aloud: mono samples from −1 to 1 at
// speech.Rate.
type reader interface {
	read(ctx context.Context, c script.Clip) ([]float64, error)
}

// origin is where a pack's sound comes from.
type origin struct {
	reader
	voice   string // who or what speaks
	licence string // in a word
	notice  []byte
	kbits   int // a second of a file
}

// spoken is an engine at two paces.
type spoken struct{ usual, brisk speech.Engine }

func (s spoken) read(ctx context.Context, c script.Clip) ([]float64, error) {
	if c.Brisk {
		return s.brisk.Speak(ctx, c.Text)
	}
	return s.usual.Speak(ctx, c.Text)
}

//go:embed flite-notice.txt
var fliteNotice []byte

//go:embed espeak-notice.txt
var espeakNotice []byte

// engine is the origin of a name in a language; of no name, the usual one.
func engine(name, lang string) (origin, error) {
	switch {
	case name == "" && lang == "en":
		return engine("flite", lang)
	case name == "":
		return engine("espeak-ng", lang)
	case name == "flite" && lang == "en":
		// A little slower than its own pace, and a little faster inside a
		// movement.
		return origin{spoken{speech.Flite{Voice: "rms", Stretch: "1.05"}, speech.Flite{Voice: "rms", Stretch: "0.9"}},
			"flite rms", "permissive, Carnegie Mellon University; see " + noticeName, fliteNotice, 32}, nil
	case name == "flite":
		return origin{}, fmt.Errorf("%w: flite speaks English only; for %q there is espeak-ng", errUsage, lang)
	case name == "espeak-ng":
		return origin{spoken{speech.ESpeak{Voice: lang, Speed: 150, Pitch: 40}, speech.ESpeak{Voice: lang, Speed: 190, Pitch: 40}},
			"espeak-ng " + lang + " (a placeholder until somebody records it)", "output of a program; see " + noticeName, espeakNotice, 24}, nil
	}
	return origin{}, fmt.Errorf("%w: there is no engine %q; there are espeak-ng, flite", errUsage, name)
}

// recorded is a folder with one WAV file a line, named by the clip's id as
// the reading sheet gives it.
type recorded struct{ dir string }

const recording = ".wav"

func (r recorded) read(_ context.Context, c script.Clip) ([]float64, error) {
	f, err := os.Open(filepath.Join(r.dir, c.ID+recording))
	if err != nil {
		return nil, fmt.Errorf("reading a recording: %w", err)
	}
	defer f.Close()
	return speech.ReadWAV(f)
}

// compare lists the lines nobody recorded and the recordings of no line.
func (r recorded) compare(clips []script.Clip) (missing []script.Clip, unknown []string, err error) {
	names, err := fs.Glob(os.DirFS(r.dir), "*"+recording)
	if err != nil {
		return nil, nil, fmt.Errorf("looking for recordings: %w", err)
	}
	there := map[string]bool{}
	for _, n := range names {
		there[strings.TrimSuffix(n, recording)] = true
	}
	for _, c := range clips {
		if !there[c.ID] {
			missing = append(missing, c)
		}
		delete(there, c.ID)
	}
	return missing, slices.Sorted(maps.Keys(there)), nil
}
