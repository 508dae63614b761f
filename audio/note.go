package audio

import "math"

// tableSize is the number of points of one period of a timbre.
const tableSize = 2048

// Timbre is one period of a waveform, made of harmonics. It never changes.
type Timbre struct{ table [tableSize + 1]float32 }

// NewTimbre makes a timbre whose nth harmonic (from 1) has the given
// strength, scaled so that its highest point is 1.
func NewTimbre(harmonics ...float64) *Timbre {
	var t Timbre
	peak := 0.0
	var wave [tableSize]float64
	for i := range wave {
		for h, a := range harmonics {
			wave[i] += a * math.Sin(2*math.Pi*float64((h+1)*i%tableSize)/tableSize)
		}
		peak = max(peak, math.Abs(wave[i]))
	}
	for i, v := range wave {
		t.table[i] = float32(v / peak)
	}
	t.table[tableSize] = t.table[0]
	return &t
}

// at is the waveform at a phase, a fraction of the period in 1/2^64.
func (t *Timbre) at(phase uint64) float32 {
	i := phase >> 53
	frac := float32(phase>>29&0xffffff) * (1.0 / (1 << 24))
	a, b := t.table[i], t.table[i+1]
	return a + float32(frac*(b-a))
}

// Note is a tone that may glide.
type Note struct {
	Timbre   *Timbre
	From, To float64 // Hz at its first and after its last sample
	Length   int     // samples
	Gain     float32 // of its loudest point, 1 being full scale
	Attack   int     // samples over which it rises
	Release  int     // samples over which it falls to silence at its end
	// Sustain is the share of Gain that stays when the strike at the
	// beginning has faded; 1 for a tone that does not fade.
	Sustain float32
	Fade    int // samples in which the strike falls to about a third
}

// hertz is a frequency as a phase step in 1/2^64 of a period a sample.
func hertz(f float64) int64 { return int64(math.Round(f / Rate * (1 << 63) * 2)) }

// tone is a note being played. Phase and glide are whole numbers, so a glide
// is the same on every machine.
type tone struct {
	timbre         *Timbre
	phase          uint64
	step, glide    int64 // per sample; glide is added to step every sample
	gain           float32
	attack, length int32
	release        int32
	sustain        float32
	strike, fade   float32
}

func newTone(n Note) tone {
	t := tone{timbre: n.Timbre, step: hertz(n.From), gain: n.Gain,
		attack: int32(max(n.Attack, 1)), length: int32(n.Length), release: int32(max(n.Release, 1)),
		sustain: n.Sustain, strike: 1 - n.Sustain, fade: 1}
	if n.Length > 0 {
		t.glide = (hertz(n.To) - hertz(n.From)) / int64(n.Length)
	}
	if n.Fade > 0 {
		t.fade = float32(math.Exp(-1 / float64(n.Fade)))
	}
	return t
}

// next is the note's sample i; samples are asked for in order.
func (t *tone) next(i int32) float32 {
	env := t.sustain + t.strike
	t.strike = float32(t.strike * t.fade)
	if i < t.attack {
		env = float32(env * float32(i+1) / float32(t.attack))
	}
	if left := t.length - i; left < t.release {
		env = float32(env * float32(left) / float32(t.release))
	}
	v := t.timbre.at(t.phase)
	t.phase += uint64(t.step)
	t.step += t.glide
	return float32(v * float32(env*t.gain))
}
