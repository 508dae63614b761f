package player_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/player"
)

const note = "Mind the new mat, please, and tell us how the left knee was."

// A note that is spoken and one that is not leave every cue where it was.
func TestANoteTakesTheSameTimeSpokenOrNot(t *testing.T) {
	cfg := config(t)
	cfg.Programme.Note = note
	silentPCM, silent := render(cfg, 480)
	spoken := cfg
	spoken.Voice = voice(t)
	require.True(t, spoken.Voice.Type(note, humming))
	spokenPCM, heard := render(spoken, 480)
	assert.Equal(t, silent.Cues, heard.Cues)
	assert.Equal(t, len(silentPCM), len(spokenPCM))
	assert.NotEqual(t, silentPCM, spokenPCM)
	ph := coach.Phrase{ID: coach.SayNote, Name: note}
	assert.Equal(t, note, spoken.Voice.Text(ph))
	assert.Equal(t, "There is a note for you. Please ask a member of staff to read it to you.", cfg.Voice.Text(ph))
	assert.Equal(t, coach.Samples(48000+4800*len(note)), cfg.Voice.Length(ph))
}

func TestANoteThatTakesTooLongIsNotSpoken(t *testing.T) {
	v := voice(t)
	const most = 48000 + 5*4800
	assert.False(t, v.Type("99999", make([]int16, most+1)))
	assert.False(t, v.Type("99999", nil))
	assert.True(t, v.Type("99999", make([]int16, most)))
}

// FuzzNote: no text, spoken or not, breaks a session or moves the stop button.
func FuzzNote(f *testing.F) {
	for _, s := range []string{note, "", "\x00", "stop", strings.Repeat("x", 400), "你好", "\xff\xfe", "{n} | {load}"} {
		f.Add(s, true)
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, text string, spoken bool) {
		if len(text) > 1000 {
			return
		}
		cfg := config(t)
		cfg.Programme.Note = text
		if spoken {
			cfg.Voice.Type(text, humming)
		}
		heard, _ := player.Dry(cfg)
		require.Equal(t, coach.CueDone, heard.Cues[len(heard.Cues)-1].Kind)
		for _, c := range heard.Cues {
			cfg.Voice.Text(c.Phrase)
		}
	})
}

// What a live player learns about the next place outlasts going back to what
// was heard.
func TestTheNextPlaceOutlastsGoingBack(t *testing.T) {
	cfg := config(t)
	cfg.Live, cfg.Patient = true, player.Willing
	cfg.Programme.Part, cfg.Programme.WarmUp, cfg.Programme.CoolDown = coach.Middle, 0, 0
	p := player.New(cfg)
	block := make([]int16, 480)
	for p.Pos() < 480*100 {
		p.Mark()
		p.Render(block)
	}
	p.GoesNext(coach.Next{Place: "the wall"}, humming)
	p.PressAt(coach.Hold, p.Pos()-4800, p.Pos()-4800)
	for !p.Over() {
		p.Mark()
		p.Render(block)
	}
	said := ""
	for _, c := range p.Take(player.All).Cues {
		if c.Phrase.ID == coach.SayNext {
			said = cfg.Voice.Text(c.Phrase)
		}
	}
	assert.Equal(t, "Next, go to the wall.", said)
}
