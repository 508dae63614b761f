package audio

import "math"

const (
	// maxVoices is how many notes and clips may sound or wait at once.
	maxVoices = 64
	// never is a sample that does not come.
	never = math.MaxInt64
	// hushFade is how many samples a hush takes to reach silence: 10 ms.
	hushFade = Rate / 100
	// duckTo is what is left of the notes while a clip speaks: −9 dB.
	duckTo = 0.355
	// duckTime is how many samples ducking takes: 40 ms.
	duckTime = Rate / 25
	// turnTime is how many samples a change of volume takes per unit of gain.
	turnTime = Rate / 10
)

// Mixer adds notes and clips that start at absolute samples. Its zero value
// is silent at sample 0 and full volume; it is a value, and a copy of it is
// a snapshot.
type Mixer struct {
	pos     int64
	voices  [maxVoices]voice
	n       int
	lost    int     // voices there was no room for
	ducked  float32 // 0 open, 1 fully ducked
	quieter float32 // 1 − gain, so that the zero value is full volume
	turnTo  float32
}

// voice is a note or a clip with its place.
type voice struct {
	start, end int64
	cut        int64 // fades from here; never unless hushed
	clip       Clip  // of a note the zero Clip
	in, out    int32 // samples of the clip's edges that fade, for a cross-fade
	tone       tone
}

// Pos is the next sample to be mixed.
func (m *Mixer) Pos() int64 { return m.pos }

// Lost is how many sounds found no room; 0 unless something is badly wrong.
func (m *Mixer) Lost() int { return m.lost }

// Sounding reports whether anything sounds or waits to.
func (m *Mixer) Sounding() bool { return m.n > 0 }

// Note starts a note at a sample not yet mixed.
func (m *Mixer) Note(at int64, n Note) {
	m.add(voice{start: at, end: at + int64(n.Length), tone: newTone(n)})
}

// Clip starts a clip at a sample not yet mixed.
func (m *Mixer) Clip(at int64, c Clip) { m.Join(at, c, 0, 0) }

// Join starts a clip that runs into its neighbours: its first in samples rise
// and its last out samples fall, so that two clips that overlap by as much
// keep their power.
func (m *Mixer) Join(at int64, c Clip, in, out int) {
	m.add(voice{start: at, end: at + int64(c.Len()), clip: c, in: int32(in), out: int32(out)})
}

func (m *Mixer) add(v voice) {
	if m.n == maxVoices {
		m.lost++
		return
	}
	if v.end <= v.start {
		return
	}
	v.start, v.cut = max(v.start, m.pos), never
	m.voices[m.n] = v
	m.n++
}

// Hush fades out what sounds at a sample not yet mixed, within 10 ms, and
// forgets what has not begun by then. Sounds added later are not touched.
func (m *Mixer) Hush(at int64) { m.hush(at, false) }

// HushClips does the same to clips alone.
func (m *Mixer) HushClips(at int64) { m.hush(at, true) }

func (m *Mixer) hush(at int64, clipsOnly bool) {
	kept := 0
	for i := range m.n {
		v := &m.voices[i]
		if !clipsOnly || v.clip.pcm != nil {
			if v.start >= at {
				continue
			}
			v.cut = min(v.cut, at)
			v.end = min(v.end, v.cut+hushFade)
		}
		m.voices[kept] = *v
		kept++
	}
	m.clear(kept)
}

func (m *Mixer) clear(from int) {
	for i := from; i < m.n; i++ {
		m.voices[i] = voice{}
	}
	m.n = from
}

// Turn moves the volume to a gain from the next sample on, without a click.
func (m *Mixer) Turn(gain float32) { m.turnTo = 1 - gain }

// Settle takes a volume just turned to as it is, without moving there.
func (m *Mixer) Settle() { m.quieter = m.turnTo }

// Mix fills buf with the next samples. It allocates nothing.
func (m *Mixer) Mix(buf []float32) {
	for len(buf) > 0 {
		n, speaking := m.stretch(len(buf))
		m.mixStretch(buf[:n], speaking)
		buf = buf[n:]
	}
}

// stretch is how many of the next samples are alike: in all of them a clip
// speaks, or in none.
func (m *Mixer) stretch(most int) (n int, speaking bool) {
	end := m.pos + int64(most)
	for i := range m.n {
		v := &m.voices[i]
		if v.clip.pcm == nil || v.end <= m.pos {
			continue
		}
		if v.start <= m.pos {
			speaking = true
			end = min(end, v.end)
		} else {
			end = min(end, v.start)
		}
	}
	return int(end - m.pos), speaking
}

func (m *Mixer) mixStretch(buf []float32, speaking bool) {
	clear(buf)
	for i := range m.n {
		if v := &m.voices[i]; v.clip.pcm == nil {
			v.addTo(buf, m.pos)
		}
	}
	m.duck(buf, speaking)
	kept := 0
	end := m.pos + int64(len(buf))
	for i := range m.n {
		v := &m.voices[i]
		if v.clip.pcm != nil {
			v.addTo(buf, m.pos)
		}
		if v.end > end {
			if kept != i {
				m.voices[kept] = *v
			}
			kept++
		}
	}
	m.clear(kept)
	m.turn(buf)
	m.pos = end
}

// addTo adds the part of v that falls on buf, whose first sample is pos.
func (v *voice) addTo(buf []float32, pos int64) {
	from, to := max(v.start, pos), min(v.end, pos+int64(len(buf)))
	for at := from; at < to; at++ {
		var x float32
		if v.clip.pcm != nil {
			x = v.sample(int(at - v.start))
		} else {
			x = v.tone.next(int32(at - v.start))
		}
		if at >= v.cut {
			x = float32(x * float32(v.cut+hushFade-at) / hushFade)
		}
		buf[at-pos] += x
	}
}

// sample is a clip's sample, its faded edges taken in. The root of a share is
// the same on every machine.
func (v *voice) sample(i int) float32 {
	x := float32(v.clip.at(i)) * (1.0 / 32768)
	if in := int(v.in); i < in {
		x = float32(x * root(i, in))
	}
	if left := v.clip.Len() - 1 - i; left < int(v.out) {
		x = float32(x * root(left, int(v.out)))
	}
	return x
}

// root is the gain whose power is the share of sample i in a fade of n.
func root(i, n int) float32 {
	return float32(math.Sqrt(float64(2*i+1) / float64(2*n)))
}

// duck lowers the notes in buf while a clip speaks.
func (m *Mixer) duck(buf []float32, speaking bool) {
	if !speaking && m.ducked == 0 {
		return
	}
	for i := range buf {
		buf[i] = float32(buf[i] * (1 - float32(m.ducked*(1-duckTo))))
		if speaking {
			m.ducked = min(1, m.ducked+1.0/duckTime)
		} else {
			m.ducked = max(0, m.ducked-1.0/duckTime)
		}
	}
}

// turn applies the volume.
func (m *Mixer) turn(buf []float32) {
	if m.quieter == m.turnTo {
		if m.quieter == 0 {
			return
		}
		for i := range buf {
			buf[i] = float32(buf[i] * (1 - m.quieter))
		}
		return
	}
	for i := range buf {
		if m.quieter < m.turnTo {
			m.quieter = min(m.turnTo, m.quieter+1.0/turnTime)
		} else {
			m.quieter = max(m.turnTo, m.quieter-1.0/turnTime)
		}
		buf[i] = float32(buf[i] * (1 - m.quieter))
	}
}
