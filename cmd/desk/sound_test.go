package main

import (
	"encoding/binary"
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
	file, kind, err := newSound().Item(t.Context(), "en", prog, 2)
	require.NoError(t, err)
	assert.Equal(t, "audio/wav", kind)
	require.Equal(t, "RIFF", string(file[:4]))
	assert.Equal(t, uint32(len(file)-8), binary.LittleEndian.Uint32(file[4:]))
	assert.Equal(t, uint32(24000), binary.LittleEndian.Uint32(file[24:]))
	it := prog.Items[2]
	led := (it.Pace.Lift + it.Pace.Top + it.Pace.Lower + it.Pace.Bottom).Seconds() * float64(it.Dose.Reps*it.Dose.Sets*len(it.Sides.Passes()))
	seconds := float64(len(file)-44) / 2 / 24000
	assert.Greater(t, seconds, led)
	assert.Less(t, seconds, led+90*float64(it.Dose.Sets*len(it.Sides.Passes())), "no warm-up and no other item")
	loud := 0
	for i := 44; i+1 < len(file); i += 2 {
		if v := int16(binary.LittleEndian.Uint16(file[i:])); v > 3000 || v < -3000 {
			loud++
		}
	}
	assert.Greater(t, loud, 10_000, "it can be heard")
	_, _, err = newSound().Item(t.Context(), "en", prog, 99)
	require.Error(t, err)
}

// A session led again from its presses comes to the same entries.
func TestASessionIsLedAgain(t *testing.T) {
	prog := demoProgramme(t)
	speaker, closeVoice, err := speakerFor(t.Context(), "en", &prog)
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
