package station_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/speech"
	pack "evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/script"
	"evenbell/coach/station"
	"evenbell/hardware"
	"evenbell/sounds"
)

// ownPack is a data folder with a copy of the built-in Spanish pack as the
// clinic's own, changed.
func ownPack(t *testing.T, name string, change func(dir string)) string {
	data := t.TempDir()
	all := filepath.Join(data, "all")
	require.NoError(t, os.CopyFS(all, sounds.FS))
	dir := filepath.Join(data, pack.Folder, name)
	require.NoError(t, os.MkdirAll(filepath.Dir(dir), 0o700))
	require.NoError(t, os.Rename(filepath.Join(all, "es"), dir))
	change(dir)
	return data
}

func TestAStationSpeaksFromItsDataFolder(t *testing.T) {
	t.Parallel()
	v, err := station.FindVoice("es-marta", ownPack(t, "es-marta", func(string) {}))
	require.NoError(t, err)
	defer v.Close()
	sp, err := v.Patiently()
	require.NoError(t, err)
	assert.Equal(t, "Pare. Deje el peso. Siéntese si puede. Avise ahora en voz alta.", sp.Text(coach.Phrase{ID: coach.SayStop}))
	es, err := script.Load("es")
	require.NoError(t, err)
	assert.Contains(t, v.Fingerprint(), es.Version(), "the log says which words were spoken")
}

func TestADamagedOrIncompletePackIsRefusedWithWhatIsMissing(t *testing.T) {
	t.Parallel()
	_, err := station.FindVoice("es-marta", ownPack(t, "es-marta", func(dir string) {
		require.NoError(t, os.Remove(filepath.Join(dir, "diez.mp3")))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "once.mp3"), []byte("noise"), 0o600))
	}))
	require.ErrorContains(t, err, `clip "diez": its file diez.mp3 is missing`)
	require.ErrorContains(t, err, `clip "once": its file once.mp3 is damaged`)

	_, err = station.FindVoice("es-marta", ownPack(t, "es-marta", func(dir string) {
		p, err := pack.Open(os.DirFS(dir))
		require.NoError(t, err)
		m := p.Manifest()
		m.Clips = m.Clips[:len(m.Clips)-2]
		text, err := m.Encode()
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, pack.ManifestName), text, 0o600))
	}))
	require.ErrorContains(t, err, "the voice es-marta lacks 2 of ")
	require.ErrorContains(t, err, `clip "zeta" is missing: "zeta"`)

	v, err := station.OpenVoice("en")
	require.NoError(t, err)
	v.Close()
}

// Whatever is typed, a session has a speaker; where it can be spoken, it is.
func TestTypedNotes(t *testing.T) {
	t.Parallel()
	v, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer v.Close()
	text := func(note string) string {
		sp, err := v.Patiently()
		require.NoError(t, err)
		return sp.Text(coach.Phrase{ID: coach.SayNote, Name: note})
	}
	const instead = "There is a note for you. Please ask a member of staff to read it to you."
	for _, note := range []string{"Привет", "\x00", "…"} {
		require.ErrorIs(t, v.Type(t.Context(), t.TempDir(), note), speech.ErrUnspeakable)
		assert.Equal(t, instead, text(note))
	}
	require.NoError(t, v.Type(t.Context(), t.TempDir(), ""))
	const note = "Mind the new mat today."
	err = v.Type(t.Context(), t.TempDir(), note)
	if len(speech.Installed("en")) == 0 {
		require.ErrorIs(t, err, speech.ErrNoEngine)
		assert.Equal(t, instead, text(note))
		require.NotEqual(t, "required", os.Getenv("EVENBELL_PEERS"), "no speech program is installed")
		t.Skip("no speech program is installed")
	}
	require.NoError(t, err)
	assert.Equal(t, note, text(note))
	assert.Equal(t, instead, text("another note"), "only what was typed for this session")
}

// A session is coached although the plan's voice is damaged: in the built-in
// English, and the log says so.
func TestDeviceSpeaksEnglishWhereTheVoiceIsDamaged(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, func(s string) string {
		return strings.Replace(s, `unit = "kg"`, "unit = \"kg\"\nvoice = \"es-marta\"", 1)
	}))
	d.cfg.Data = ownPack(t, "es-marta", func(dir string) { require.NoError(t, os.Remove(filepath.Join(dir, "diez.mp3"))) })
	d.start()
	log := d.press(has(coach.EntrySessionStart), hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
	en, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer en.Close()
	for _, e := range log {
		if start, ok := e.Data.(*coach.SessionStartData); ok {
			assert.Equal(t, en.Fingerprint(), start.Voice)
		}
	}
}
