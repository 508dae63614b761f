package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/speech"
	"evenbell/audio/voice"
	"evenbell/coach/script"
)

// record writes a WAV file as a recorder would: stereo, 44.1 kHz, quiet, with
// silence before and after.
func record(t *testing.T, file string, seconds float64) {
	t.Helper()
	const rate, silence = 44100, 22050
	sounding := int(seconds * rate)
	samples := make([]int16, 2*(2*silence+sounding))
	for i := range sounding {
		x := int16(1500 * math.Sin(2*math.Pi*220*float64(i)/rate) * (1 + 0.5*math.Sin(float64(i)/2000)))
		samples[2*(silence+i)], samples[2*(silence+i)+1] = x, x
	}
	var b bytes.Buffer
	for _, v := range []any{[]byte("RIFF"), uint32(36 + 2*len(samples)), []byte("WAVEfmt "), uint32(16), uint16(1), uint16(2), uint32(rate),
		uint32(4 * rate), uint16(4), uint16(16), []byte("data"), uint32(2 * len(samples)), samples} {
		require.NoError(t, binary.Write(&b, binary.LittleEndian, v))
	}
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
}

// A folder of recordings short of one line, or with one that is no sound, makes
// no pack, and says which.
func TestRecordingsThatAreMissingAreNamed(t *testing.T) {
	need(t, "lame")
	s, dir, args, out := recordings(t)
	diez := filepath.Join(dir, "diez.wav")
	require.NoError(t, os.Remove(diez))
	var said bytes.Buffer
	assert.Equal(t, 1, run(t.Context(), args, &said, &said))
	assert.Contains(t, said.String(), `diez.wav: missing: "diez"`)
	assert.Contains(t, said.String(), "any.wav: no line of the script, left out")
	assert.Contains(t, said.String(), fmt.Sprintf("1 of %d lines are missing", len(s.Clips())))
	assert.NoDirExists(t, out)
	require.NoError(t, os.WriteFile(diez, []byte("not sound"), 0o600))
	_, err := makeClips(t.Context(), origin{reader: recorded{dir}, kbits: 32}, []script.Clip{{ID: "diez", Text: "diez"}}, t.TempDir())
	assert.ErrorContains(t, err, `making clip "diez": reading a WAV file`)
}

// A whole folder of recordings becomes a pack that a station takes.
func TestAPackIsMadeOfRecordings(t *testing.T) {
	need(t, "lame")
	if os.Getenv("EVENBELL_PEERS") != "required" {
		t.Skip("it takes half a minute: EVENBELL_PEERS=required runs it")
	}
	s, _, args, out := recordings(t)
	var said bytes.Buffer
	require.Equal(t, 0, run(t.Context(), args, &said, &said), said.String())
	p, err := voice.Open(os.DirFS(out))
	require.NoError(t, err)
	assert.Empty(t, faults(p, s))
	assert.Equal(t, "Marta", p.Manifest().Voice)
	notice, err := os.ReadFile(filepath.Join(out, noticeName))
	require.NoError(t, err)
	assert.Contains(t, string(notice), "Recorded by Marta")
	for _, c := range p.Manifest().Clips[:20] {
		assert.InDelta(t, speech.TargetLUFS, c.LUFS, 1)
		assert.InDelta(t, 0.33*voice.Rate, c.Samples, 0.02*voice.Rate, "the silence around it is gone")
	}
}

// recordings is a folder with a recording of every Spanish line and one more,
// and the arguments that make a pack of it in out.
func recordings(t *testing.T) (s *script.Script, dir string, args []string, out string) {
	s, err := script.Load("es")
	require.NoError(t, err)
	dir, out = t.TempDir(), filepath.Join(t.TempDir(), "es-marta")
	one := filepath.Join(dir, "any.wav")
	record(t, one, 0.3)
	sound, err := os.ReadFile(one)
	require.NoError(t, err)
	for _, c := range s.Clips() {
		require.NoError(t, os.WriteFile(filepath.Join(dir, c.ID+".wav"), sound, 0o600))
	}
	licence := filepath.Join(t.TempDir(), "licence.txt")
	require.NoError(t, os.WriteFile(licence, []byte("Recorded by Marta; the clinic may use it.\n"), 0o600))
	return s, dir, []string{"build", "--script", "es", "--recordings", dir, "--licence", licence, "--speaker", "Marta", "--out", out}, out
}
