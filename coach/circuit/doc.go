// Package circuit makes the timetable of a class: who is at which place when,
// so that nobody queues, everybody rests as prescribed and the class ends
// soonest.
//
// It is for numbers and rules: how many seconds a visit takes it is told, and
// it knows no plan, protocol, file or clock. Random numbers come from a seed;
// the only thing time may do is stop the search, through [Options.Stop].
//
// The bare problem is the open shop: patients are jobs, places are machines,
// and the order is free on both sides. A timetable is kept as two kinds of
// chain, of each patient's visits and of each place's, and the earliest times
// follow from them as longest paths. The search takes a visit of a longest path
// out and puts it back where the class then ends soonest, in any order of its
// patient and of a place; a worse place it takes the more readily the warmer it
// is, in rounds of cooling. Small classes are also searched to the end, which
// proves the answer.
//
// A class in progress is a timetable with its beginning fixed: [Repair] makes
// the rest anew and moves nobody at work.
//
// Invariants it keeps:
//   - One patient at a place (or as many as an area holds), one place per patient.
//   - Between two items at least the patient's rest, walking included.
//   - Warm-up first, cool-down last, the mat in one go, a fixed order kept.
//   - The same muscle group twice running only as often as it must be.
//   - No timetable is shorter than its bound.
//   - The same problem, seed and iterations give the same timetable, as long
//     as Stop does not cut the search short.
package circuit
