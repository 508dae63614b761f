package speech

import (
	"context"
	"fmt"
	"os/exec"
	"strconv"
	"strings"

	"evenbell/audio/voice"
)

// Rate is samples a second of speech before it becomes a clip.
const Rate = voice.FileRate

// Engine speaks a text.
type Engine interface {
	// Name tells the program and every setting that changes its sound.
	Name() string
	// Speak gives mono samples from −1 to 1 at Rate, as the program spoke
	// them: neither trimmed nor levelled. The text is one Clean gave.
	Speak(ctx context.Context, text string) ([]float64, error)
}

// Flite is the program of that name. It speaks English without accents.
type Flite struct {
	Voice   string // such as "rms"
	Stretch string // how much slower than its own pace, such as "1.15"
}

// Name implements Engine.
func (f Flite) Name() string { return "flite " + f.Voice + " " + f.Stretch }

// Speak gives the text to the program as one argument.
func (f Flite) Speak(ctx context.Context, text string) ([]float64, error) {
	if !plain(text) {
		return nil, fmt.Errorf("%w: flite has no letters with accents", ErrUnspeakable)
	}
	return program{name: "flite", args: func(out string) []string {
		return []string{"-voice", f.Voice, "--setf", "duration_stretch=" + f.Stretch, "-t", ended(text), "-o", out}
	}}.speak(ctx)
}

// ESpeak is the program espeak-ng.
type ESpeak struct {
	Voice string // a language of its own, such as "es"
	Speed int    // words a minute, as it counts them
	Pitch int    // from 0 to 99; its own is 50
}

// Name implements Engine.
func (e ESpeak) Name() string { return fmt.Sprintf("espeak-ng %s %d %d", e.Voice, e.Speed, e.Pitch) }

// Speak gives the text to the program on its standard input.
func (e ESpeak) Speak(ctx context.Context, text string) ([]float64, error) {
	return program{name: "espeak-ng", stdin: ended(text), args: func(out string) []string {
		return []string{"-v", e.Voice, "-s", strconv.Itoa(e.Speed), "-p", strconv.Itoa(e.Pitch), "-b", "1", "--stdin", "-w", out}
	}}.speak(ctx)
}

// ended ends a text with a full stop where nothing else ends it, so that the
// voice falls at its end.
func ended(text string) string {
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") || strings.HasSuffix(text, "!") {
		return text
	}
	return text + "."
}

// engines are what may speak a language, the most intelligible first.
var engines = map[string][]Engine{
	"en": {Flite{Voice: "rms", Stretch: "1.05"}, ESpeak{Voice: "en-gb", Speed: 150, Pitch: 40}},
	"es": {ESpeak{Voice: "es", Speed: 150, Pitch: 40}},
}

// Installed lists the engines of a language that are on this machine; none
// for a language nothing here speaks.
func Installed(language string) []Engine {
	var out []Engine
	for _, e := range engines[language] {
		name, _, _ := strings.Cut(e.Name(), " ")
		if _, err := exec.LookPath(name); err == nil {
			out = append(out, e)
		}
	}
	return out
}
