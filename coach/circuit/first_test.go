package circuit

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkFirst is the time to the first valid timetable of a class of thirty
// at twelve places.
func BenchmarkFirst(b *testing.B) {
	p := Invented(1, 30, 12)
	for b.Loop() {
		start(newShop(p), rand.New(rand.NewPCG(1, 1)), 0)
	}
}
