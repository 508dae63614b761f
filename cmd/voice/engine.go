package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/gopxl/beep/v2"
	"github.com/gopxl/beep/v2/wav"

	"evenbell/audio/voice"
	"evenbell/coach/script"
)

// engine speaks a text: mono samples from −1 to 1 at voice.FileRate.
type engine interface {
	speak(ctx context.Context, c script.Clip) ([]float64, error)
	name() string
}

// flite is the speech engine of that name, with the voice found most
// intelligible. dir takes its files for as long as it speaks.
type flite struct{ dir string }

const (
	fliteVoice   = "rms"
	fliteStretch = "1.15" // a little slower than its own pace
	fliteBrisk   = "0.9"  // a little faster, inside a movement
)

func (f flite) name() string { return "flite " + fliteVoice }

// speak gives the text to the engine as one argument, never through a shell.
func (f flite) speak(ctx context.Context, c script.Clip) ([]float64, error) {
	stretch := fliteStretch
	if c.Brisk {
		stretch = fliteBrisk
	}
	out, err := os.CreateTemp(f.dir, "speech-*.wav")
	if err != nil {
		return nil, fmt.Errorf("speaking %q: %w", c.Text, err)
	}
	defer os.Remove(out.Name())
	defer out.Close()
	cmd := exec.CommandContext(ctx, "flite", "-voice", fliteVoice, "--setf", "duration_stretch="+stretch,
		"-t", finished(c.Text), "-o", out.Name())
	if msg, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("speaking %q: %w: %s", c.Text, err, bytes.TrimSpace(msg))
	}
	return readWAV(out.Name())
}

// finished ends a text with a full stop where nothing else ends it, so that
// the voice falls at its end.
func finished(text string) string {
	if strings.ContainsAny(text[len(text)-1:], ".?!") {
		return text
	}
	return text + "."
}

// resampleQuality is the half-width of beep's interpolation.
const resampleQuality = 6

func readWAV(path string) ([]float64, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", filepath.Base(path), err)
	}
	defer f.Close()
	s, format, err := wav.Decode(f)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", filepath.Base(path), err)
	}
	at := beep.Resample(resampleQuality, format.SampleRate, voice.FileRate, s)
	var out []float64
	block := make([][2]float64, 4096)
	for {
		n, ok := at.Stream(block)
		for _, x := range block[:n] {
			out = append(out, x[0])
		}
		if !ok {
			return out, at.Err()
		}
	}
}
