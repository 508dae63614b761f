package desk_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
)

// towelPull is an exercise of the clinic's own.
func towelPull(t *testing.T) coach.OwnExercise {
	own, faults := plan.ReadOwn("own", []byte("format = \"exercises/1\"\n"+towelText))
	require.Empty(t, coach.Errors(faults))
	return own[0]
}

const towelText = `[[exercise]]
id = "own-towel-pull"
name = "towel pull"
set_up = "Sit tall. Hold the towel with both hands."
care = "Keep your shoulders low."
region = "upper"
muscles = ["biceps"]
position = "seated"
first = "lift"
sides = ["both"]
loads = ["body"]
bars = ["wrist"]
verbs_of = "dumbbell-row"
`

const towel = "[[patient.item]]\nexercise = \"own-towel-pull\"\nreps = 10\nload = \"body\"\n"

// withTowel is a plan with the towel pull after a curl.
func withTowel(tag string, day coach.Day) string {
	return strings.Replace(planText(tag, day, curl+towel), "[[patient]]", towelText+"[[patient]]", 1)
}

func (c *clinic) own(id string) desk.Exercise {
	all, err := c.Exercises(ctx, lind)
	require.NoError(c.t, err)
	for _, e := range all {
		if e.ID == id {
			return e
		}
	}
	require.Fail(c.t, "no exercise", id)
	return desk.Exercise{}
}

func (c *clinic) sign(id string) {
	require.NoError(c.t, c.SignExercise(ctx, okafor, id, c.own(id).Fingerprint()))
}

// An exercise of the clinic's own is prescribed once a supervisor has signed it
// as it is, and no longer once it is another.
func TestAnOwnExerciseIsSignedBeforeItIsPrescribed(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	e := towelPull(t)
	require.NoError(t, c.KeepExercise(ctx, lind, e, true), "an assistant may draft it")
	refused(t, c.KeepExercise(ctx, lind, e, true), "another exercise of yours")
	require.ErrorIs(t, c.SignExercise(ctx, lind, e.ID, c.own(e.ID).Fingerprint()), desk.ErrDenied)
	require.ErrorIs(t, c.SignExercise(ctx, adair, e.ID, c.own(e.ID).Fingerprint()), desk.ErrDenied)
	unsigned, err := c.Unsigned(ctx, lind)
	require.NoError(t, err)
	assert.Equal(t, []string{e.ID}, unsigned)

	text := withTowel("K4", "2026-03-02")
	rx, checked, err := c.Draft(ctx, lind, "K4", text)
	require.NoError(t, err, "no work is lost")
	require.Nil(t, checked.Plan)
	faults := coach.Errors(checked.Faults)
	require.Len(t, faults, 1)
	assert.Contains(t, faults[0].Message, "towel pull waits for a supervisor's sign-off")
	assert.Equal(t, 1+strings.Count(text[:strings.LastIndex(text, "[[patient.item]]")], "\n"), faults[0].Line, "at the item")
	_, err = c.Approve(ctx, okafor, rx.ID, "")
	var faulty desk.Faulty
	require.ErrorAs(t, err, &faulty)

	c.sign(e.ID)
	got := c.own(e.ID)
	require.NotNil(t, got.Signed)
	assert.Equal(t, "R. Okafor", got.Signed.By)
	assert.False(t, got.Waits())
	_, checked, err = c.Prescription(ctx, lind, rx.ID)
	require.NoError(t, err)
	require.NotNil(t, checked.Plan, "%v", checked.Faults)
	rx, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	c.enrolled("Bay 3")
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)

	// Changed, it is signed by nobody; what was approved keeps what it carries.
	e.Care = "Keep your shoulders low and breathe."
	seen := c.own(e.ID).Fingerprint()
	require.NoError(t, c.KeepExercise(ctx, lind, e, false))
	require.Nil(t, c.own(e.ID).Signed)
	require.ErrorIs(t, c.SignExercise(ctx, okafor, e.ID, seen), desk.ErrChanged, "who signs has seen this one")
	_, checked, err = c.Prescription(ctx, lind, rx.ID)
	require.NoError(t, err)
	require.NotNil(t, checked.Plan, "%v", checked.Faults)
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-03", "K4")
	require.NoError(t, err)
	next, err := c.FromLast(ctx, lind, "K4")
	require.NoError(t, err)
	assert.Contains(t, next.Text, "and breathe")
	checked, err = c.CheckPlan(ctx, lind, "K4", next.Text)
	require.NoError(t, err)
	assert.Nil(t, checked.Plan)

	// Signed anew, an older copy is not what was signed.
	c.sign(e.ID)
	checked, err = c.CheckPlan(ctx, lind, "K4", next.Text)
	require.NoError(t, err)
	assert.NotNil(t, checked.Plan, "%v", checked.Faults)
	checked, err = c.CheckPlan(ctx, lind, "K4", text)
	require.NoError(t, err)
	require.Nil(t, checked.Plan)
	assert.Contains(t, coach.Errors(checked.Faults)[0].Message, "was changed since this was written")

	// What an admin changes by the settings is no way round.
	_, err = c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { v.Exercises[0].Name = "towel push"; return nil })
	require.NoError(t, err)
	assert.Nil(t, c.own(e.ID).Signed)

	require.NoError(t, c.RemoveExercise(ctx, lind, e.ID))
	require.ErrorIs(t, c.RemoveExercise(ctx, lind, e.ID), desk.ErrNotFound)
	require.ErrorIs(t, c.SignExercise(ctx, okafor, e.ID, ""), desk.ErrNotFound)
	require.NoError(t, c.KeepExercise(ctx, lind, e, true))
	assert.Nil(t, c.own(e.ID).Signed, "one that comes back begins anew")

	var said []string
	lines, err := c.Audit(ctx, adair, store.AuditFilter{Subject: e.ID})
	require.NoError(t, err)
	for _, l := range lines {
		said = append(said, l.By+": "+l.Detail)
	}
	assert.Equal(t, []string{"M. Lind: kept", "R. Okafor: signed", "M. Lind: kept; what R. Okafor signed on 2026-03-02 is void",
		"R. Okafor: signed", "M. Lind: taken out; what R. Okafor signed on 2026-03-02 is void", "M. Lind: kept"}, said)
}

// A plan file's writer stands for the exercises in it; the desk says what it
// does not know.
func TestAPlanFileWithAnExerciseNobodySigned(t *testing.T) {
	c := newClinic(t)
	c.enrolled("Bay 3")
	text := strings.Replace(withTowel("K4", "2026-03-02"), "[[exercise]]", "[approval]\nby = \"R. Okafor\"\nat = 2026-03-01T16:20:00Z\n[[exercise]]", 1)
	_, notes, err := c.SendFile(ctx, console, "Bay 3", "p.toml", []byte(text))
	require.NoError(t, err)
	said := func() bool {
		for _, n := range notes {
			if n.Key == "exercise.id" {
				return strings.Contains(n.Message, "a supervisor has signed")
			}
		}
		return false
	}
	assert.True(t, said())
	require.NoError(t, c.KeepExercise(ctx, lind, towelPull(t), true))
	c.sign("own-towel-pull")
	_, notes, err = c.SendFile(ctx, console, "Bay 3", "p.toml", []byte(text))
	require.NoError(t, err)
	assert.False(t, said())
}

// A recording belongs to its words, and reaches stations once a supervisor has
// signed it.
func TestARecordingBelongsToItsWords(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	e := towelPull(t)
	require.NoError(t, c.KeepExercise(ctx, lind, e, true))
	c.sign(e.ID)
	rx, checked, err := c.Draft(ctx, lind, "K4", withTowel("K4", "2026-03-02"))
	require.NoError(t, err)
	_, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	bay, empty := c.enrolled("Bay 3"), c.enrolled("Bay 4")
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)

	refused(t, c.Record(ctx, lind, e.ID, coach.NameLine, e.Name, []byte("noise")), "it is no sound")
	refused(t, c.Record(ctx, lind, e.ID, coach.NameLine, e.Name, []byte("sound, and longer than the name")), "it takes")
	require.ErrorIs(t, c.Record(ctx, lind, e.ID, coach.NameLine, "towel push", []byte("sound")), desk.ErrChanged)
	require.ErrorIs(t, c.Record(ctx, lind, "own-other", coach.NameLine, e.Name, []byte("sound")), desk.ErrNotFound)
	require.ErrorIs(t, c.Record(ctx, lind, e.ID, "other", "", []byte("sound")), desk.ErrNotFound)
	require.NoError(t, c.Record(ctx, lind, e.ID, coach.NameLine, e.Name, []byte("sound 1")))
	require.NoError(t, c.Record(ctx, lind, e.ID, coach.NameLine, e.Name, []byte("sound 2")))
	require.NoError(t, c.Record(ctx, lind, e.ID, coach.CareLine, e.Care, []byte("sound care")))

	got := c.own(e.ID)
	require.NotNil(t, got.Signed, "it may still be prescribed")
	assert.True(t, got.Waits(), "but what was recorded waits")
	assert.Empty(t, bay.state().Recordings)
	name := got.Lines[0].Recording
	require.NotNil(t, name)
	assert.Equal(t, 700*time.Millisecond, name.Length)
	require.Nil(t, got.Lines[1].Recording)
	_, err = c.link.Recording(ctx, bay.peer, name.Hash)
	require.ErrorIs(t, err, link.ErrNoRecording)
	heard, err := c.Recorded(ctx, lind, "en", []coach.OwnExercise{e}, false)
	require.NoError(t, err)
	assert.Equal(t, map[string][]byte{e.Name: []byte("shaped sound 2"), e.Care: []byte("shaped sound care")}, heard)
	heard, err = c.Recorded(ctx, lind, "en", []coach.OwnExercise{e}, true)
	require.NoError(t, err)
	assert.Empty(t, heard)

	changed, stop := c.link.Watch(bay.peer)
	defer stop()
	c.sign(e.ID)
	assert.Len(t, changed, 1, "the station is told")
	state := bay.state()
	require.Len(t, state.Recordings, 2)
	assert.Contains(t, state.Recordings, name.Hash)
	assert.Empty(t, empty.state().Recordings, "its plan has no such words")
	r, err := c.link.Recording(ctx, bay.peer, name.Hash)
	require.NoError(t, err)
	assert.Equal(t, link.Recording{Language: "en", Text: "towel pull", Sound: []byte("shaped sound 2")}, r)
	assert.Equal(t, name.Hash, r.Hash())
	_, err = c.link.Recording(ctx, empty.peer, name.Hash)
	require.ErrorIs(t, err, link.ErrNoRecording)
	var carried bytes.Buffer
	_, err = c.CarryPlan(ctx, console, "Bay 3", deskKey(t), &carried)
	require.NoError(t, err)
	assert.Equal(t, 4, strings.Count(carried.String(), "\n"), "what is said, two recordings and the signature")

	// With other words the page says so, and the approved plan goes on with the
	// words and the sound it was approved with.
	e.Name = "towel pull-down"
	require.NoError(t, c.KeepExercise(ctx, lind, e, false))
	got = c.own(e.ID)
	require.Nil(t, got.Lines[0].Recording)
	require.Len(t, got.Lines[0].Earlier, 1)
	assert.Equal(t, "towel pull", got.Lines[0].Earlier[0].Text)
	assert.Len(t, bay.state().Recordings, 2)
	_, err = c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { v.Voice = "es"; return nil })
	require.NoError(t, err)
	require.Nil(t, c.own(e.ID).Lines[2].Recording, "it is in English")
	assert.Len(t, c.own(e.ID).Lines[2].Earlier, 1)

	require.NoError(t, c.RemoveExercise(ctx, lind, e.ID))
	stray, err := c.StrayRecordings(ctx, lind)
	require.NoError(t, err)
	require.Len(t, stray, 2)
	for _, r := range stray {
		_, err := c.Recording(ctx, lind, r.Hash)
		require.NoError(t, err)
		require.NoError(t, c.RemoveRecording(ctx, lind, r.Hash))
	}
	assert.Empty(t, bay.state().Recordings)
	_, err = c.Recording(ctx, lind, name.Hash)
	require.ErrorIs(t, err, desk.ErrNotFound)
}

func deskKey(t *testing.T) link.Key {
	k, err := link.NewKey()
	require.NoError(t, err)
	return k
}
