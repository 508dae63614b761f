package player_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/script"
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

// ownConfig is a session whose first item is of the clinic's own.
func ownConfig(t testing.TB, own coach.OwnExercise) player.Config {
	t.Helper()
	sc, err := script.Load("en")
	require.NoError(t, err)
	cfg := config(t)
	cfg.Voice = voiceOf(t, sc.With([]coach.OwnExercise{own}))
	cfg.Programme.Own = []coach.OwnExercise{own}
	cfg.Programme.Items[0].Exercise, cfg.Programme.Items[0].Dose.Stage = own.ID, coach.OwnStage
	return cfg
}

func towelPull() coach.OwnExercise {
	return coach.OwnExercise{Exercise: coach.Exercise{ID: "own-towel-pull", Name: "towel pull"},
		SetUp: "Sit tall. Hold the towel with both hands.", Care: "Keep your shoulders low.", VerbsOf: "dumbbell-row", VerbsStage: "hand-on-chair"}
}

// An exercise of the clinic's own keeps time spoken or not, and is heard by its
// name only where all that was typed in a sentence can be spoken.
func TestAnOwnExerciseTakesTheSameTimeSpokenOrNot(t *testing.T) {
	own := towelPull()
	silent, spoken := ownConfig(t, own), ownConfig(t, own)
	for _, text := range own.Typed() {
		require.True(t, spoken.Voice.Type(text, humming))
	}
	a, endA := player.Dry(silent)
	b, endB := player.Dry(spoken)
	assert.Equal(t, a.Cues, b.Cues)
	assert.Equal(t, endA, endB)
	said := map[string]bool{}
	for _, c := range b.Cues {
		said[spoken.Voice.Text(c.Phrase)] = true
	}
	for _, want := range []string{"First exercise: towel pull.", own.SetUp, own.Care} {
		assert.True(t, said[want], want)
	}
	for _, c := range a.Cues {
		assert.NotContains(t, silent.Voice.Text(c.Phrase), "towel")
	}
}

// What somebody recorded goes before what a machine would speak.
func TestARecordedNameIsThePacks(t *testing.T) {
	own := towelPull()
	sc, err := script.Load("en")
	require.NoError(t, err)
	pack := hum{"towel-pull": true}
	for _, c := range sc.Clips() {
		pack[c.ID] = true
	}
	asked := map[string]bool{}
	v, err := player.NewSpeaker(sc.With([]coach.OwnExercise{own}), pack, func(string) audio.Clip { return audio.NewClip(humming) })
	require.NoError(t, err)
	v.Ahead(func(_ coach.Phrase, ids []string) {
		for _, id := range ids {
			asked[id] = true
		}
	})
	ph := coach.Phrase{ID: coach.SayExercise, Exercise: own.ID, Stage: coach.OwnStage, N: 1, Of: 1}
	v.Length(ph)
	assert.True(t, asked["towel-pull"])
	assert.Equal(t, "Today's exercise: towel pull.", v.Text(ph))
}

// FuzzOwnWords: nothing typed about an exercise breaks a session.
func FuzzOwnWords(f *testing.F) {
	f.Add("towel pull", "Sit tall.", "Go slowly.", true)
	f.Add("\x00", "{n} | {load}", "…", false)
	f.Add("", strings.Repeat("x", 300), "你好 \xff", true)
	f.Fuzz(func(t *testing.T, name, setUp, care string, spoken bool) {
		if len(name)+len(setUp)+len(care) > 1000 {
			return
		}
		own := towelPull()
		own.Name, own.SetUp, own.Care = name, setUp, care
		cfg := ownConfig(t, own)
		if spoken {
			cfg.Voice.Type(name, humming)
			cfg.Voice.Type(care, humming)
		}
		heard, _ := player.Dry(cfg)
		require.Equal(t, coach.CueDone, heard.Cues[len(heard.Cues)-1].Kind)
		for _, c := range heard.Cues {
			cfg.Voice.Text(c.Phrase)
		}
	})
}
