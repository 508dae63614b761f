// Package taillard generates Taillard's open-shop instances by his published
// generator, with what is known of their shortest makespans.
//
// It is for proving and measuring the class timetable, and knows nothing of
// it: an instance is a matrix.
//
// Source: E. Taillard, Benchmarks for basic scheduling problems, European
// Journal of Operational Research 64 (1993) 278-285: the generator, the seeds,
// the first upper bounds and the lower bounds. Invariant: an instance's
// longest row or column is the lower bound published with it, which the tests
// hold it to.
package taillard

// Instance is one instance.
type Instance struct {
	Size                  int // patients and places
	TimeSeed, MachineSeed int64
	Upper, Lower          int // as published in 1993
}

// source is his linear congruential generator, 16807 modulo 2^31-1 by
// Schrage's method.
type source int64

// between is a whole number from a to b.
func (s *source) between(a, b int) int {
	const m, mul, quo, rem = 1<<31 - 1, 16807, 127773, 2836
	k := int64(*s) / quo
	next := mul*(int64(*s)%quo) - k*rem
	if next < 0 {
		next += m
	}
	*s = source(next)
	return a + int(next*int64(b-a+1)/m)
}

// Seconds are the times of an instance, [patient][place].
func (in Instance) Seconds() [][]int {
	times, machines := source(in.TimeSeed), source(in.MachineSeed)
	out := make([][]int, in.Size)
	for i := range out {
		drawn := make([]int, in.Size)
		for k := range drawn {
			drawn[k] = times.between(1, 99)
		}
		on := make([]int, in.Size)
		for k := range on {
			on[k] = k
		}
		for k := range on {
			other := machines.between(k+1, in.Size) - 1
			on[k], on[other] = on[other], on[k]
		}
		out[i] = make([]int, in.Size)
		for k, place := range on {
			out[i][place] = drawn[k]
		}
	}
	return out
}

// Best is the shortest makespan known, and from where. For 4×4 and 5×5 it is
// the upper bound of 1993, but for three of the 5×5 that were solved better
// since (from memory: Brucker, Hurink, Jurisch and Wöstmann, Discrete Applied
// Mathematics 76, 1997). From 7×7 on every instance was solved at its lower
// bound (from memory: Laborie, IJCAI 2005, and those before him). A timetable
// at the lower bound proves itself.
func (in Instance) Best() int {
	if in.Size >= 7 {
		return in.Lower
	}
	if better, ok := since[in.TimeSeed]; ok {
		return better
	}
	return in.Upper
}

// since are makespans below the upper bound of 1993, by time seed.
var since = map[int64]int{1165033492: 323, 1181363416: 326, 577107303: 303}
