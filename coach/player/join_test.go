package player

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/script"
)

// level is a voice pack whose every clip is a constant, as long as its name.
type level struct{}

func (level) Length(id string) (int, bool) { return 2000 * len(id), true }

func constant(id string) audio.Clip {
	pcm := make([]int16, 2000*len(id))
	for i := range pcm {
		pcm[i] = 16384
	}
	return audio.NewClip(pcm)
}

func levelVoice(t *testing.T) *Speaker {
	t.Helper()
	sc, err := script.Load("en")
	require.NoError(t, err)
	v, err := NewSpeaker(sc, level{}, constant)
	require.NoError(t, err)
	return v
}

var spokenPhrases = []coach.Phrase{
	{ID: coach.SayLoad, Load: coach.Dumbbell(2500, coach.Kilogram), Hands: 2},
	{ID: coach.SayLoad, Load: coach.Dumbbell(13250, coach.Kilogram), Hands: 2},
	{ID: coach.SayWelcome, Name: "K4"}, {ID: coach.SayStop}, {ID: coach.SayCount, N: 87},
	{ID: coach.SayCountVerb, N: 1, Exercise: "heel-raise", Stage: "holding-on", Phase: coach.Lift},
	{ID: coach.SayWarmUp, Seconds: 330},
}

// What a session is told of a phrase's length is what is heard: the last
// sample sounds, and nothing after it.
func TestLengthIsWhatIsHeard(t *testing.T) {
	v := levelVoice(t)
	for _, ph := range spokenPhrases {
		var mix audio.Mixer
		v.say(&mix, 100, ph)
		pcm := make([]float32, 100+int(v.Length(ph))+5000)
		mix.Mix(pcm)
		last := 0
		for i, x := range pcm {
			if x != 0 {
				last = i
			}
		}
		assert.Equal(t, 100+int(v.Length(ph)), last+1, "%+v", ph)
	}
}

// Clips of a running sentence keep their power where they meet: two unlike
// sounds of one level add up to that level's power, so that the squares of the
// two gains make one. Between sentences there is the stated silence.
func TestClipsMeetAsTheMarksAsk(t *testing.T) {
	v := levelVoice(t)
	ran, stopped, paused := 0, 0, 0
	for _, ph := range spokenPhrases {
		ps, clips := v.pieces(ph), v.script.Say(ph)
		assert.Zero(t, ps[0].in)
		assert.Zero(t, ps[len(ps)-1].out)
		for i, p := range ps[1:] {
			gap := p.at - ps[i].at - ps[i].len
			switch clips[i].After {
			case script.FullStop:
				assert.Equal(t, fullStop, gap)
				stopped++
			case script.Comma:
				assert.Equal(t, comma, gap)
				paused++
			default:
				require.Equal(t, -crossFade, gap)
				assert.Equal(t, crossFade, p.in)
				assert.Equal(t, crossFade, ps[i].out)
				for n := range crossFade {
					left, right := gainAt(ps[i], ps[i].len-crossFade+n), gainAt(p, n)
					assert.InDelta(t, 1, left*left+right*right, 1e-5)
				}
				ran++
			}
		}
	}
	assert.Greater(t, ran, 2)
	assert.Greater(t, stopped, 3)
	assert.Greater(t, paused, 0)
}

// gainAt is what becomes of sample i of a piece alone in the mixer.
func gainAt(p piece, i int) float64 {
	var mix audio.Mixer
	mix.Join(0, constant(p.id), p.in, p.out)
	buf := make([]float32, p.len)
	mix.Mix(buf)
	return 2 * float64(buf[i])
}
