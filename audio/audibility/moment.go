package audibility

import (
	"math"

	"evenbell/audio"
)

// SpeechDB is how loud speech of [SpeechLUFS] arrives at the person while the
// volume is at 0 dB, in dB SPL: an assumption of the design, and what a
// clinic's speaker should be set to. It is 10 dB over a room of 60 dB(A).
const SpeechDB = 70.0

// SpeechLUFS is the loudness of every clip.
const SpeechLUFS = -16.0

// fullScaleDB is the sound pressure level of a mean square of 1. A tone of 1
// kHz reads its mean square in LUFS (ITU-R BS.1770); the weighting between 300
// and 1500 Hz, under 1 dB, is left out.
const fullScaleDB = SpeechDB - SpeechLUFS

const (
	gather = audio.Rate / 5  // samples the ear gathers: 200 ms
	step   = audio.Rate / 20 // samples from one moment to the next: 50 ms
	// lowestHz and highestHz bound the harmonics that count: what the tables
	// know.
	lowestHz, highestHz = 250.0, 4000.0
	harmonics           = 8
)

// Moment is 200 ms of a note as they are heard.
type Moment struct {
	At          int     // samples from the note's start to the first of them
	Hz          float64 // of the harmonic that stands out most
	LevelDB     float64 // of that harmonic, dB SPL at the person
	OverHearing float64 // dB above the threshold of the age and sex
	OverNoise   float64 // dB above what the noise hides
}

// Over is how far the moment stands above hearing and noise alike, in dB.
func (m Moment) Over() float64 { return min(m.OverHearing, m.OverNoise) }

// Moments are a note's moments in order, one every 50 ms as far as the whole
// of it reaches; at least one, since a short note is gathered whole.
func Moments(n audio.Note, l Listener) []Moment {
	env := n.Envelope()
	var out []Moment
	for at := 0; at == 0 || at+gather <= len(env); at += step {
		sum := 0.0
		for _, e := range env[at:min(at+gather, len(env))] {
			sum += float64(e) * float64(e)
		}
		middle := float64(at+min(gather, len(env)-at)/2) / float64(max(1, len(env)))
		out = append(out, l.hears(n.Timbre, n.From+(n.To-n.From)*middle, sum/gather, at))
	}
	return out
}

// hears is a moment of a fundamental whose envelope has a mean square.
func (l Listener) hears(t *audio.Timbre, hz, square float64, at int) Moment {
	best := Moment{At: at, OverHearing: math.Inf(-1)}
	for h := 1; h <= harmonics; h++ {
		f := hz * float64(h)
		if f < lowestHz || f > highestHz {
			continue
		}
		a := t.Harmonic(h)
		m := Moment{At: at, Hz: f, LevelDB: fullScaleDB + 10*math.Log10(a*a/2*square)}
		m.OverHearing, m.OverNoise = m.LevelDB-l.Threshold(f), m.LevelDB-l.Masked()
		if m.Over() > best.Over() {
			best = m
		}
	}
	return best
}

// Strongest is the moment that stands out most: how a struck note is heard.
func Strongest(ms []Moment) Moment {
	best := ms[0]
	for _, m := range ms {
		if m.Over() > best.Over() {
			best = m
		}
	}
	return best
}

// Weakest is the moment that stands out least: how a sound is heard that has
// to be followed throughout.
func Weakest(ms []Moment) Moment {
	worst := ms[0]
	for _, m := range ms {
		if m.Over() < worst.Over() {
			worst = m
		}
	}
	return worst
}
