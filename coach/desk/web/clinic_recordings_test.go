package web

import (
	"bytes"
	"html"
	"math"
	"mime/multipart"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/speech"
	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// spoken is a recording of something like speech, of so many seconds between
// silences.
func spoken(seconds, level float64) []byte {
	pcm := make([]int16, int((seconds+0.6)*speech.Rate))
	for i := range int(seconds * speech.Rate) {
		t, x := float64(i)/speech.Rate, 0.0
		for k := 1.0; k <= 5; k++ {
			x += math.Sin(2*math.Pi*150*k*t+k) / k
		}
		x *= level / 1.7 * (0.7 + 0.3*math.Sin(2*math.Pi*3*t))
		pcm[speech.Rate*3/10+i] = int16(32767 * max(-1, min(1, x)))
	}
	return speech.WAV(pcm)
}

// upload sends a form with a file, as a browser without scripts does; no file
// where it is nil.
func (b *browser) upload(path, words string, file []byte) answer {
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	require.NoError(b.t, m.WriteField("words", words))
	if file != nil {
		part, err := m.CreateFormFile("file", "line.wav")
		require.NoError(b.t, err)
		_, err = part.Write(file)
		require.NoError(b.t, err)
	}
	require.NoError(b.t, m.Close())
	r, err := http.NewRequest(http.MethodPost, b.base+path, &body)
	require.NoError(b.t, err)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.do(r)
}

// towelPull adds an exercise of the clinic's own.
func (c *clinic) towelPull() {
	a := c.browser(store.Assistant).post("/clinic/exercises/new", "id", "own-towel-pull", "name", "towel pull", "set_up", "Sit tall. Hold the towel with both hands.",
		"care", "Keep your shoulders low.", "region", "upper", "muscle.0", "biceps", "position", "seated", "first", "lift", "sides", "both", "loads", "body",
		"bars", "wrist", "verbs", "biceps-curl/seated", "dumbbells", "0")
	require.Equal(c.t, http.StatusSeeOther, a.status, a.body)
}

const towelPage = "/clinic/exercises/own-towel-pull"

var recordingPath = regexp.MustCompile(`/clinic/recordings/[0-9a-f]{64}`)

func TestALineIsRecordedListenedToSignedAndTakenAway(t *testing.T) {
	c := newClinic(t)
	c.towelPull()
	helper, super := c.browser(store.Assistant), c.browser(store.Supervisor)
	page := helper.get(towelPage).body
	assert.Equal(t, 3, strings.Count(page, "a machine speaks them"))
	assert.Contains(t, page, "At most 2.0 s", "one second and a tenth of one a letter")
	assert.NotContains(t, page, "Sign as")

	a := helper.upload(towelPage+"/record/name", "towel pull", spoken(0.9, 0.3))
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	page = helper.get(towelPage).body
	assert.Contains(t, page, "0.9 s, by Mo Lind")
	assert.Contains(t, page, "signed by nobody yet")
	path := recordingPath.FindString(page)
	heard := helper.get(path)
	assert.Equal(t, "audio/wav", heard.header.Get("Content-Type"))
	pcm, err := speech.ReadLine([]byte(heard.body))
	require.NoError(t, err)
	assert.InDelta(t, 0.9*speech.Rate, len(pcm), 0.1*speech.Rate, "as stations get it")

	// Signed is what was seen.
	seen := filled(t, super.get(towelPage).body).Get("seen")
	require.NotEmpty(t, seen)
	require.Equal(t, http.StatusSeeOther, helper.upload(towelPage+"/record/care", "Keep your shoulders low.", spoken(1.4, 0.3)).status)
	assert.Equal(t, http.StatusConflict, super.post(towelPage+"/sign", "seen", seen, "read", "yes").status)
	seen = filled(t, super.get(towelPage).body).Get("seen")
	require.Equal(t, http.StatusSeeOther, super.post(towelPage+"/sign", "seen", seen).status)
	assert.Contains(t, super.get(towelPage).body, "Nothing was signed")
	assert.Equal(t, http.StatusForbidden, helper.post(towelPage+"/sign", "seen", seen, "read", "yes").status)
	require.Equal(t, http.StatusSeeOther, super.post(towelPage+"/sign", "seen", seen, "read", "yes").status)
	page = super.get(towelPage).body
	assert.Contains(t, page, "Signed by R. Okafor")
	assert.NotContains(t, page, "signed by nobody yet")
	assert.NotContains(t, page, "Sign as")

	require.Equal(t, http.StatusSeeOther, helper.post(path+"/remove", "of", "own-towel-pull").status)
	assert.Equal(t, http.StatusNotFound, helper.get(path).status)
	assert.Equal(t, http.StatusNotFound, helper.post(path+"/remove").status)

	// Other words have no recording, and the page says so.
	f := filled(t, helper.get(towelPage).body)
	f.Set("set_up", "Sit tall. Hold the towel with both hands.")
	f.Set("care", "Breathe out as you pull.")
	a = helper.postForm(towelPage, f)
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	page = helper.get(towelPage).body
	assert.Contains(t, page, "Recorded for other words")
	assert.Contains(t, page, "“Keep your shoulders low.”")
	require.Equal(t, http.StatusSeeOther, helper.post(towelPage+"/remove").status)
	assert.Contains(t, helper.get("/clinic/exercises").body, "stand in no exercise now")
}

func TestARecordingThatIsRefusedSaysWhyAndChangesNothing(t *testing.T) {
	c := newClinic(t)
	c.towelPull()
	b := c.browser(store.Admin)
	for want, file := range map[string][]byte{
		"No file was sent":               nil,
		"neither a WAV nor an MP3 file":  []byte("<script>window.ran=1</script>"),
		"it takes 2.6 s, and these":      spoken(2.6, 0.3),
		"it is clipped":                  spoken(1, 3),
		"too quiet":                      spoken(1, 0.002),
		"nothing but silence":            speech.WAV(make([]int16, speech.Rate)),
		"The file is too large: at most": append(spoken(1, 0.3), make([]byte, mostBytes)...),
	} {
		a := b.upload(towelPage+"/record/name", "towel pull", file)
		assert.Equal(t, http.StatusUnprocessableEntity, a.status, want)
		assert.Contains(t, strings.ToLower(html.UnescapeString(a.body)), strings.ToLower(want))
		assert.Contains(t, a.body, `id="f-file.name-fault"`, want)
		assert.NotContains(t, a.body, "<script>window", want)
	}
	a := b.upload(towelPage+"/record/name", "towel push", spoken(1, 0.3))
	assert.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "Other words stand here now")
	assert.Equal(t, http.StatusNotFound, b.upload(towelPage+"/record/verse", "", spoken(1, 0.3)).status)
	assert.Equal(t, http.StatusUnprocessableEntity, b.post(towelPage+"/record/name", "words", "towel pull").status)
	all, err := c.store.Recordings(t.Context())
	require.NoError(t, err)
	assert.Empty(t, all)
}

// What the preview of an exercise plays has the recording in it from the start;
// that of a plan as stations have it.
func TestRecordingsAreInWhatIsPlayed(t *testing.T) {
	c := newClinic(t)
	sound := &heardSound{}
	c.site.Sound = sound
	c.towelPull()
	super := c.browser(store.Supervisor)
	require.Equal(t, http.StatusSeeOther, super.upload(towelPage+"/record/name", "towel pull", spoken(0.9, 0.3)).status)
	require.Equal(t, http.StatusOK, super.get(towelPage+"/sound").status)
	require.Contains(t, sound.recorded, "towel pull")
	_, err := speech.ReadLine(sound.recorded["towel pull"])
	require.NoError(t, err)

	c.signed("own-towel-pull")
	require.Equal(t, http.StatusSeeOther, super.post("/patients/new", "tag", "K4", "name", "Ada Holm").status)
	v := filled(t, super.get("/patients/K4/plan/write?from=nothing").body)
	v.Set("i0.what", "own-towel-pull/own")
	v.Set("do", "keep")
	plan := super.postForm("/patients/K4/plan/write", v).to
	require.Equal(t, http.StatusOK, super.get(plan+"/sound/1").status)
	assert.Contains(t, sound.recorded, "towel pull")
	require.Equal(t, http.StatusSeeOther, super.upload(towelPage+"/record/name", "towel pull", spoken(0.8, 0.3)).status)
	require.Equal(t, http.StatusOK, super.get(plan+"/sound/1").status)
	assert.NotContains(t, sound.recorded, "towel pull", "nobody has signed it yet")
}

// signed signs an exercise as it is.
func (c *clinic) signed(id string) {
	all, err := c.desk.Exercises(c.t.Context(), c.as(store.Supervisor))
	require.NoError(c.t, err)
	for _, e := range all {
		if e.ID == id {
			require.NoError(c.t, c.desk.SignExercise(c.t.Context(), c.as(store.Supervisor), id, e.Fingerprint()))
		}
	}
}

// recorded gives an exercise a recording that waits, and one of words that were
// changed since.
func (c *clinic) recorded(e coach.OwnExercise) {
	was := e
	was.Care = "Keep your shoulders down."
	for _, step := range []struct {
		e    coach.OwnExercise
		line coach.OwnLine
	}{{was, coach.CareLine}, {e, coach.NameLine}} {
		require.NoError(c.t, c.desk.KeepExercise(c.t.Context(), c.as(store.Assistant), step.e, false))
		require.NoError(c.t, c.desk.Record(c.t.Context(), c.as(store.Assistant), e.ID, step.line, step.e.Line(step.line), spoken(1, 0.3)))
	}
}

// In a browser with a microphone a line is recorded in the page, listened to and
// sent, by the keyboard.
func TestALineIsRecordedInThePage(t *testing.T) {
	c := newClinic(t)
	c.towelPull()
	b := c.tab()
	b.login(store.Assistant)
	b.open(towelPage)
	// A microphone that hears a hummed line: no test machine has one.
	eval[bool](b, `(() => {
		navigator.mediaDevices.getUserMedia = async () => {
			const sound = new AudioContext(), tone = sound.createOscillator(), level = sound.createGain(), out = sound.createMediaStreamDestination();
			tone.type = "triangle"; tone.frequency.value = 180; level.gain.value = 0.3;
			tone.connect(level).connect(out); tone.start();
			return out.stream;
		};
		return true;
	})()`)
	button := `document.querySelector('form[action$="/record/name"] [data-record-go]')`
	b.until(`!` + button + `.hidden`)
	eval[bool](b, button+`.focus() || true`)
	b.keys("\r")
	b.until(button + `.textContent === "Stop"`)
	eval[bool](b, `(window.began = performance.now(), true)`)
	b.until(`performance.now() - began > 900`)
	b.keys("\r")
	b.until(`document.querySelector('form[action$="/record/name"] [data-record-says]').textContent.startsWith("Recorded")`)
	assert.Equal(t, "recorded.wav", eval[string](b, `document.querySelector('[id="f-file.name"]').files[0].name`))
	eval[bool](b, `(document.querySelector('form[action$="/record/name"] [data-record-hear]').click(), true)`)
	eval[bool](b, `(document.querySelector('form[action$="/record/name"]').requestSubmit(), true)`)
	b.until(`document.body.innerText.includes("The recording is kept")`)
	all, err := c.store.Recordings(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, "towel pull", all[0].Text)
	assert.Greater(t, all[0].Length.Seconds(), 0.5)
	b.mu.Lock()
	defer b.mu.Unlock()
	assert.Empty(t, b.wrong, "nothing that the page's own policy forbids")
}
