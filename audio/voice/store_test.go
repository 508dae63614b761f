package voice

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func ids(p *Pack) []string {
	var out []string
	for _, c := range p.Manifest().Clips {
		out = append(out, c.ID)
	}
	return out
}

func TestPrefetchMakesReady(t *testing.T) {
	p := english(t)
	s := NewStore(p, 64<<20)
	want := ids(p)[:20]
	for _, id := range want {
		assert.Nil(t, s.Ready(id))
	}
	s.Prefetch(append(want, "no such clip")...)
	require.Eventually(t, func() bool {
		for _, id := range want {
			if s.Ready(id) == nil {
				return false
			}
		}
		return true
	}, 20*time.Second, time.Millisecond)
	s.Close()
	s.Close()
	s.Prefetch(ids(p)[30])
	assert.Nil(t, s.Ready(ids(p)[30]), "nothing is decoded ahead after Close")
	_, err := s.Get(ids(p)[30])
	require.NoError(t, err)
	_, err = s.Get("no such clip")
	require.ErrorContains(t, err, `no clip "no such clip"`)
	assert.Nil(t, s.Ready("no such clip"))
}

func TestTheClipUsedLongestAgoGoesFirst(t *testing.T) {
	p := english(t)
	a, b, c := ids(p)[0], ids(p)[1], ids(p)[2]
	size := func(id string) int { n, _ := p.Length(id); return n }
	s := NewStore(p, size(a)+max(size(b), size(c)))
	defer s.Close()
	held, err := s.Get(a)
	require.NoError(t, err)
	_, err = s.Get(b)
	require.NoError(t, err)
	require.NotNil(t, s.Ready(a)) // a is now the one used last
	_, err = s.Get(c)
	require.NoError(t, err)
	assert.NotNil(t, s.Ready(a))
	assert.Nil(t, s.Ready(b))
	assert.Equal(t, size(a)+size(c), s.held)
	again, err := s.Get(a)
	require.NoError(t, err)
	assert.Same(t, held, again)
}

// Decoders, readers and evictions at once; run with -race.
func TestManyAtOnce(t *testing.T) {
	p := english(t)
	s := NewStore(p, 400_000)
	defer s.Close()
	var wg sync.WaitGroup
	for g := range 4 {
		wg.Go(func() {
			for i, id := range ids(p)[:24] {
				if (i+g)%3 == 0 {
					s.Prefetch(id)
					s.Ready(id)
					continue
				}
				c, err := s.Get(id)
				n, _ := p.Length(id)
				assert.NoError(t, err)
				assert.Equal(t, n, c.Len())
			}
		})
	}
	wg.Wait()
	s.mu.Lock()
	defer s.mu.Unlock()
	assert.LessOrEqual(t, s.held, 400_000+0)
}

func TestReadyAllocatesNothing(t *testing.T) {
	p := english(t)
	s := NewStore(p, 1<<20)
	defer s.Close()
	id := ids(p)[0]
	_, err := s.Get(id)
	require.NoError(t, err)
	assert.Zero(t, testing.AllocsPerRun(100, func() { s.Ready(id) }))
}

// BenchmarkDecode prints how much faster than real time clips are decoded.
func BenchmarkDecode(b *testing.B) {
	p := english(b)
	clips := p.Manifest().Clips
	samples := 0
	i := 0
	for b.Loop() {
		c, err := p.decode(clips[i%len(clips)])
		require.NoError(b, err)
		samples += c.Len()
		i++
	}
	b.ReportMetric(float64(samples)/Rate/b.Elapsed().Seconds(), "x-real-time")
}

func BenchmarkOpen(b *testing.B) {
	for b.Loop() {
		english(b)
	}
}
