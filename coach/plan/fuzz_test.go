package plan_test

import (
	"strings"
	"testing"

	"evenbell/coach"
	"evenbell/coach/plan"

	"github.com/stretchr/testify/require"
)

// FuzzRead: no text makes the reader fall over or point outside the file; a
// plan it accepts can be coached, and reads back equal when written.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"one-item.toml", "every-key.toml", "many-faults.toml"} {
		f.Add(load(f, name))
	}
	f.Add(plan.Demo())
	f.Add([]byte(small))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, faults := plan.Read("p", text, nil)
		last := 1 + strings.Count(string(text), "\n")
		for _, v := range faults {
			require.True(t, 1 <= v.Line && v.Line <= last, "%v", v)
			require.NotContains(t, v.String(), "\n")
		}
		require.Equal(t, p == nil, len(coach.Errors(faults)) > 0)
		if p == nil {
			return
		}
		for _, tag := range p.Tags() {
			_, err := p.Resolve(tag, p.Day)
			require.NoError(t, err)
		}
		again, faults := plan.Read("p", plan.Write(p), nil)
		require.Equal(t, p, again, lines(faults))
	})
}

func BenchmarkRead(b *testing.B) {
	text := plan.Demo()
	for b.Loop() {
		plan.Read("demo.toml", text, nil)
	}
}
