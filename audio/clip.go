package audio

import "math"

// Clip is recorded sound: mono, 16 bits, at Rate or at half of it. One at half
// is doubled while it plays, sample by sample, and takes half the memory. Its
// samples never change. The zero Clip has none.
type Clip struct {
	pcm  []int16
	half bool
}

// NewClip is a clip of samples at Rate, which must not change.
func NewClip(pcm []int16) Clip { return Clip{pcm: pcm} }

// HalfClip is a clip of samples at half of Rate, which must not change. It
// plays twice as many: those there are, and one after each, interpolated in
// whole numbers. Beyond its ends a clip is silent.
func HalfClip(pcm []int16) Clip { return Clip{pcm: pcm, half: true} }

// Len is how many samples at Rate it plays.
func (c Clip) Len() int {
	if c.half {
		return 2 * len(c.pcm)
	}
	return len(c.pcm)
}

// Bytes is the memory its samples take.
func (c Clip) Bytes() int { return 2 * len(c.pcm) }

// Samples are what it plays, at Rate. They may be read but not written.
func (c Clip) Samples() []int16 {
	if !c.half {
		return c.pcm
	}
	out := make([]int16, c.Len())
	for i := range out {
		out[i] = c.at(i)
	}
	return out
}

// at is a sample at Rate.
func (c Clip) at(i int) int16 {
	switch {
	case !c.half:
		return c.pcm[i]
	case i%2 == 0:
		return c.pcm[i/2]
	}
	return c.betweenAt(i / 2)
}

// reach is how many samples on either side make one sample between.
const reach = 16

// halfBand is the half-band filter's odd half in 1/65536ths: a sinc under a
// Kaiser window (β 6), the nearest pair of samples first.
var halfBand = func() (c [reach]int64) {
	const beta = 6.0
	var raw [reach]float64
	sum := 0.0
	for i := range raw {
		x := float64(i) + 0.5
		w := bessel(beta*math.Sqrt(1-math.Pow(x/(reach+0.5), 2))) / bessel(beta)
		raw[i] = math.Sin(math.Pi*x) / (math.Pi * x) * w
		sum += 2 * raw[i]
	}
	for i := range raw {
		c[i] = int64(math.Round(raw[i] / sum * 65536))
	}
	return c
}()

// bessel is the modified Bessel function of the first kind of order 0.
func bessel(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-12*sum; k++ {
		term *= (x / 2 / float64(k)) * (x / 2 / float64(k))
		sum += term
	}
	return sum
}

// betweenAt is the sample between i and the next.
func (c Clip) betweenAt(i int) int16 {
	var around [2 * reach]int16
	if first := i + 1 - reach; first >= 0 && first+len(around) <= len(c.pcm) {
		return betweenOf((*[2 * reach]int16)(c.pcm[first:]))
	}
	for k := range around {
		if at := i + 1 - reach + k; at >= 0 && at < len(c.pcm) {
			around[k] = c.pcm[at]
		}
	}
	return betweenOf(&around)
}

func betweenOf(around *[2 * reach]int16) int16 {
	var sum int64
	for k := range reach {
		sum += halfBand[k] * int64(int32(around[reach-1-k])+int32(around[reach+k]))
	}
	return int16(max(-32768, min(32767, (sum+32768)>>16)))
}
