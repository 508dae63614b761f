package voice

import (
	"crypto/sha256"
	_ "embed"
	"encoding/binary"
	"encoding/hex"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/sounds"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func english(t testing.TB) *Pack { return builtIn(t, "en") }

func builtIn(t testing.TB, name string) *Pack {
	t.Helper()
	dir, err := fs.Sub(sounds.FS, name)
	require.NoError(t, err)
	p, err := Open(dir)
	require.NoError(t, err)
	return p
}

// Every clip of the built-in pack decodes to the manifest's length, begins
// within 5 ms, and is as loud as the manifest says.
func TestBuiltInClipsAreWhatTheManifestSays(t *testing.T) {
	for _, name := range []string{"en", "es"} {
		t.Run(name, func(t *testing.T) { clipsAreWhatTheManifestSays(t, builtIn(t, name)) })
	}
}

func clipsAreWhatTheManifestSays(t *testing.T, p *Pack) {
	s := NewStore(p, 1<<20)
	defer s.Close()
	latest := 0
	for _, info := range p.Manifest().Clips {
		c, err := s.Get(info.ID)
		require.NoError(t, err)
		n, ok := p.Length(info.ID)
		require.True(t, ok)
		assert.Equal(t, n, c.Len(), info.ID)
		late := onset(c.Samples())
		assert.Less(t, late, Rate*5/1000, "%s begins late", info.ID)
		latest = max(latest, late)
		assert.InDelta(t, -16, info.LUFS, 1, info.ID)
		assert.Less(t, info.PeakDB, 0.0, info.ID)
	}
	assert.LessOrEqual(t, s.held, 1<<20)
	t.Logf("the latest begins after %.2f ms", float64(latest)*1000/Rate)
}

// onset is the first sample over a hundredth of the loudest.
func onset(samples []int16) int {
	loudest := 0
	for _, x := range samples {
		loudest = max(loudest, int(x), -int(x))
	}
	for i, x := range samples {
		if max(int(x), -int(x))*100 > loudest {
			return i
		}
	}
	return len(samples)
}

// onePack is a pack of one clip whose file is given.
func onePack(data []byte, samples, skip int) fstest.MapFS {
	sum := sha256.Sum256(data)
	m := Manifest{Format: Format, Language: "en", Rate: FileRate, Clips: []ClipInfo{
		{ID: "one", Text: "one", File: "one.mp3", Samples: samples, Skip: skip, SHA256: hex.EncodeToString(sum[:])}}}
	text, err := m.Encode()
	if err != nil {
		panic(err)
	}
	return fstest.MapFS{ManifestName: {Data: text}, "one.mp3": {Data: data}}
}

// A click encoded by the real encoder comes out where it went in: the delay of
// encoder and decoder is trimmed by the manifest's skip.
func TestAClickStaysWhereItWas(t *testing.T) {
	lame, err := exec.LookPath("lame")
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal("lame is needed here")
		}
		t.Skip("lame is not installed")
	}
	const length, click = 12000, 5000 // at FileRate
	raw := make([]byte, 2*(length+2400))
	for i := range 3 {
		binary.LittleEndian.PutUint16(raw[2*(click-1+i):], uint16([]int16{12000, 24000, 12000}[i]))
	}
	cmd := exec.Command(lame, "--quiet", "-r", "-s", "24", "-t", "-m", "m", "--cbr", "-b", "48", "--scale", "1", "-", "-")
	cmd.Stdin = strings.NewReader(string(raw))
	data, err := cmd.Output()
	require.NoError(t, err)
	p, err := Open(onePack(data, 2*length, 1105))
	require.NoError(t, err)
	s := NewStore(p, 1<<20)
	defer s.Close()
	c, err := s.Get("one")
	require.NoError(t, err)
	require.Equal(t, 2*length, c.Len())
	loudest, pcm := 0, c.Samples()
	for i, x := range pcm {
		if x > pcm[loudest] {
			loudest = i
		}
	}
	assert.InDelta(t, 2*click, loudest, 1)
}

// A tone keeps its level and gains no image above the old limit of 12 kHz.
func TestDoublingIsClean(t *testing.T) {
	for _, hz := range []float64{100, 1000, 5000, 8000} {
		in := make([]int16, 4800)
		for i := range in {
			in[i] = int16(math.Round(16000 * math.Sin(2*math.Pi*hz*float64(i)/FileRate)))
		}
		out := Double(in)
		require.Len(t, out, 9600)
		tone, image := level(out[1200:8400], hz), level(out[1200:8400], FileRate-hz)
		assert.InDelta(t, 16000, tone, 16000*0.001, "%g Hz", hz)
		assert.Less(t, 20*math.Log10(image/tone), -60.0, "%g Hz", hz)
	}
	assert.Empty(t, Double(nil))
}

// level is the amplitude of one frequency under a Hann window.
func level(x []int16, hz float64) float64 {
	var re, im, sum float64
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		sin, cos := math.Sincos(2 * math.Pi * hz * float64(i) / Rate)
		re += w * float64(v) * cos
		im += w * float64(v) * sin
		sum += w
	}
	return 2 * math.Hypot(re, im) / sum
}

func TestDamagedPacksAreRefusedWithWhatIsWrong(t *testing.T) {
	good := func() fstest.MapFS { return onePack([]byte("not sound, but whole"), 48000, 1105) }
	edit := func(from, to string) func(fstest.MapFS) {
		return func(m fstest.MapFS) {
			m[ManifestName] = &fstest.MapFile{Data: []byte(strings.Replace(string(m[ManifestName].Data), from, to, 1))}
		}
	}
	_, err := Open(good())
	require.NoError(t, err)
	for want, break1 := range map[string]func(fstest.MapFS){
		"manifest.json": func(m fstest.MapFS) { delete(m, ManifestName) },
		`clip "one": its file one.mp3 is missing`: func(m fstest.MapFS) { delete(m, "one.mp3") },
		`clip "one": its file one.mp3 is damaged`: func(m fstest.MapFS) { m["one.mp3"] = &fstest.MapFile{Data: []byte("x")} },
		`format is "voice-pack/9"`:                edit("voice-pack/1", "voice-pack/9"),
		"44100 samples a second":                  edit("24000", "44100"),
		"unknown field":                           edit(`"skip"`, `"skop"`),
		"not an even number":                      edit(`"samples":48000`, `"samples":47999`),
		"is not from 0":                           edit(`"skip":1105`, `"skip":-1`),
		"is not in the pack's folder":             edit(`"one.mp3"`, `"../one.mp3"`),
		"the fingerprint does not fit":            edit(`"text":"one"`, `"text":"two"`),
		"has no clips":                            func(m fstest.MapFS) { *m[ManifestName] = fstest.MapFile{Data: emptyManifest()} },
	} {
		fsys := good()
		break1(fsys)
		_, err := Open(fsys)
		assert.ErrorContains(t, err, want)
	}
}

func emptyManifest() []byte {
	text, _ := Manifest{Format: Format, Rate: FileRate}.Encode()
	return text
}

func TestAShortFileIsAnErrorNotAShortClip(t *testing.T) {
	p := english(t)
	info := p.Manifest().Clips[0]
	data, err := fs.ReadFile(p.fsys, info.File)
	require.NoError(t, err)
	bad, err := Open(onePack(data, info.Samples+48000, info.Skip))
	require.NoError(t, err)
	s := NewStore(bad, 1<<20)
	defer s.Close()
	_, err = s.Get("one")
	require.ErrorContains(t, err, "the manifest needs "+strconv.Itoa(info.Skip+info.Samples/2+24000))
}

func FuzzDamagedFile(f *testing.F) {
	p := english(f)
	data, err := fs.ReadFile(p.fsys, p.Manifest().Clips[0].File)
	require.NoError(f, err)
	f.Add(data)
	f.Add(data[:len(data)/2])
	f.Add([]byte{0xff, 0xf3, 0x44, 0xc4})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		p, err := Open(onePack(data, 4800, 1105))
		require.NoError(t, err)
		if c, err := p.decode(p.manifest.Clips[0]); err == nil {
			require.Equal(t, 4800, c.Len())
		}
	})
}

func FuzzManifest(f *testing.F) {
	f.Add([]byte(`{"format":"voice-pack/1","rate":24000,"clips":[{"id":"a","file":"one.mp3","samples":2}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := Open(fstest.MapFS{ManifestName: {Data: text}, "one.mp3": {Data: []byte("x")}})
		if err == nil {
			require.NotEmpty(t, p.manifest.Clips)
		}
	})
}
