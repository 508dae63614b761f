// Package class is a class of patients who go round the places of a gym: its
// file, who does which items where, and the day plans for the stations.
//
// It may know plans and the timetable's numbers, and nothing of sound, files or
// clocks: how long a session takes it is told by a [Measure].
//
// Invariants it keeps:
//   - The plans made for the stations hold exactly the doses of the plan they
//     were made from, and carry its fingerprint.
//   - A stay is timed as the station will coach it, in the longest way it may.
package class
