package web

import (
	"bytes"
	"encoding/binary"
	"flag"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/player"
)

var updateAlarm = flag.Bool("update-alarm", false, "write assets/alarm.wav anew")

// alarmEvery is how many of audio's samples make one of the file's: the signal
// has nothing above 4 kHz, so 12,000 samples a second carry it.
const alarmEvery = 4

// The page's alarm is the stations' stop signal, so that staff learn one sound.
func TestTheAlarmIsTheStopSignal(t *testing.T) {
	want := alarmSamples(t)
	if *updateAlarm {
		require.NoError(t, os.WriteFile("assets/alarm.wav", wav(want), 0o644))
		return // what is embedded is still the old one
	}
	data, err := assetFiles.ReadFile("assets/alarm.wav")
	require.NoError(t, err)
	require.Len(t, data, 44+2*len(want))
	require.Equal(t, wav(want)[:44], data[:44], "the header")
	for i, w := range want {
		got := int16(binary.LittleEndian.Uint16(data[44+2*i:]))
		// 2 LSB: architectures round alike only so far.
		require.InDelta(t, w, got, 2, "sample %d", i)
	}
}

func alarmSamples(t *testing.T) []int16 {
	t.Helper()
	var m audio.Mixer
	end := 0
	for _, s := range player.Sounds(0) {
		if s.Kind != coach.CueStop {
			continue
		}
		for i, n := range s.Notes {
			m.Note(int64(s.After[i]), n)
			end = max(end, s.After[i]+n.Length)
		}
	}
	require.NotZero(t, end, "there is no stop signal")
	buf := make([]float32, end/alarmEvery*alarmEvery)
	m.Mix(buf)
	thin := make([]float32, 0, len(buf)/alarmEvery)
	for i := 0; i < len(buf); i += alarmEvery {
		thin = append(thin, buf[i])
	}
	pcm := make([]int16, len(thin))
	audio.PCM(pcm, thin)
	return pcm
}

// wav is 16-bit mono.
func wav(pcm []int16) []byte {
	const rate = audio.Rate / alarmEvery
	var b bytes.Buffer
	size := uint32(2 * len(pcm))
	for _, x := range []any{[]byte("RIFF"), 36 + size, []byte("WAVEfmt "), uint32(16), uint16(1), uint16(1), uint32(rate), uint32(2 * rate), uint16(2), uint16(16), []byte("data"), size, pcm} {
		_ = binary.Write(&b, binary.LittleEndian, x) // into memory
	}
	return b.Bytes()
}
