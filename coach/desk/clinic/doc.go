// Package clinic invents a clinic: people, what they are able to do, and the
// weeks they have been coming, for demonstrations and for measuring pages.
//
// It may know the rooms below coach that need no sound and no hardware. What
// it makes is made the way real things are: people go through real sessions,
// press buttons, and their log has numbers, checksums and a chain. Only the
// people are not real; nothing about them is a figure to go by.
//
// Invariants it keeps: the same seed and day give the same clinic; it reads no
// clock and starts no goroutine.
package clinic
