package main

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
)

func demoProgramme(t *testing.T) coach.Programme {
	p, faults := plan.Read("demo", plan.Demo(), protocol.Default())
	require.NotNil(t, p, "%v", faults)
	prog, err := p.Resolve(p.Patients[0].Tag, p.Day)
	require.NoError(t, err)
	return prog
}

// What staff hear of one item is that item alone, announced and led to its end.
func TestTheSoundOfOneItem(t *testing.T) {
	prog := demoProgramme(t)
	file, kind, err := newSound().Item(t.Context(), "en", prog, nil, 2)
	require.NoError(t, err)
	assert.Equal(t, "audio/flac", kind)
	pcm := decoded(t, file)
	assert.Less(t, len(file), 2*len(pcm)*7/20, "about a third of what the samples take")
	it := prog.Items[2]
	led := (it.Pace.Lift + it.Pace.Top + it.Pace.Lower + it.Pace.Bottom).Seconds() * float64(it.Dose.Reps*it.Dose.Sets*len(it.Sides.Passes()))
	seconds := float64(len(pcm)) / 24000
	assert.Greater(t, seconds, led)
	assert.Less(t, seconds, led+90*float64(it.Dose.Sets*len(it.Sides.Passes())), "no warm-up and no other item")
	loud := 0
	for _, v := range pcm {
		if v > 3000 || v < -3000 {
			loud++
		}
	}
	assert.Greater(t, loud, 10_000, "it can be heard")
	_, _, err = newSound().Item(t.Context(), "en", prog, nil, 99)
	require.Error(t, err)
	t.Logf("%d bytes of FLAC for %.0f s, %d of PCM", len(file), seconds, 2*len(pcm))
}

// decoded are the samples of a FLAC file, by another program.
func decoded(t *testing.T, file []byte) []int16 {
	path, err := exec.LookPath("ffmpeg")
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			require.NoError(t, err)
		}
		t.Skip("there is no ffmpeg to decode with")
	}
	c := exec.Command(path, "-v", "error", "-xerror", "-f", "flac", "-i", "-", "-f", "s16le", "-ac", "1", "-ar", "24000", "-")
	c.Stdin = bytes.NewReader(file)
	out, err := c.Output()
	require.NoError(t, err)
	pcm := make([]int16, len(out)/2)
	_, err = binary.Decode(out, binary.LittleEndian, pcm)
	require.NoError(t, err)
	return pcm
}

// What is written is read back as it was but for the rounding, at every end of a
// block, of silence, of the loudest and of noise.
func TestSoundIsKeptButForTheRounding(t *testing.T) {
	noise := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{1, 15, 16, 17, flacBlock - 1, flacBlock, flacBlock + 1, 3*flacBlock + 7} {
		pcm := make([]int16, n)
		for i := range pcm {
			switch i / 600 % 4 {
			case 1:
				pcm[i] = int16(noise.Uint32())
			case 2:
				pcm[i] = math.MaxInt16 - int16(i%2)*math.MaxInt16*2 - int16(i%2)
			case 3:
				pcm[i] = int16(8000 * math.Sin(float64(i)/9))
			}
		}
		file, err := flacOf(pcm)
		require.NoError(t, err)
		got := decoded(t, file)
		require.Len(t, got, n)
		for i := range pcm {
			require.Equal(t, rounded(pcm[i])*16, int32(got[i]), "sample %d of %d", i, n)
			require.InDelta(t, pcm[i], got[i], 16)
		}
	}
}

// A session led again from its presses comes to the same entries.
func TestASessionIsLedAgain(t *testing.T) {
	prog := demoProgramme(t)
	speaker, closeVoice, err := speakerFor(t.Context(), "en", &prog, nil)
	require.NoError(t, err)
	defer closeVoice()
	start := coach.SessionStartData{Speed: "1"}
	heard, _ := player.Dry(player.Config{Programme: &prog, Voice: speaker, Start: start, Patient: player.Willing,
		Presses: []coach.Press{{Button: coach.Stop, At: coach.SessionRate.At(600e9), Heard: coach.SessionRate.At(600e9)}}})
	var presses []coach.Press
	for _, e := range heard.Entries {
		if d, ok := e.Data.(*coach.PressData); ok {
			presses = append(presses, coach.Press{Button: d.Button, At: d.At, Heard: d.Heard})
		}
	}
	require.NotEmpty(t, presses)
	cues, entries, text, err := newSound().Lead(t.Context(), "en", &prog, start, presses)
	require.NoError(t, err)
	assert.Equal(t, heard.Entries, entries)
	assert.Equal(t, heard.Cues, cues)
	assert.NotEmpty(t, text(coach.Phrase{ID: coach.SayStop}))
}
