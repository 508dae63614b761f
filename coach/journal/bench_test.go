package journal_test

import (
	"slices"
	"testing"
	"time"

	"evenbell/coach"
)

// The time one entry takes to be durable, on the file system of TMPDIR; run
// with -benchtime 5000x for a p99 that means something.
func BenchmarkDurableAppend(b *testing.B) {
	j := open(b, b.TempDir())
	var took []time.Duration
	for n := 0; b.Loop(); n++ {
		from := time.Now()
		appendTo(b, j, rep(n))
		took = append(took, time.Since(from))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-µs")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-µs")
	b.ReportMetric(float64(took[len(took)-1].Microseconds()), "worst-µs")
}

// Verifying a log of ten thousand entries, about fifty sessions.
func BenchmarkVerify(b *testing.B) {
	j := open(b, b.TempDir())
	for n := range 40 {
		var batch []coach.Entry
		for i := range 250 {
			batch = append(batch, rep(n*250+i))
		}
		appendTo(b, j, batch...)
	}
	for b.Loop() {
		if _, err := j.Verify(); err != nil {
			b.Fatal(err)
		}
	}
}
