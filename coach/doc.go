// Package coach is the vocabulary of the house: exercise, dose, programme,
// phrase, cue, press and entry, with units as types.
//
// It imports only the standard library and nothing of ours, knows no file,
// clock or sound, and holds no clinical limit. Every other room speaks in its
// words, and a value of its types travels one way: a plan is resolved to a
// [Programme], a session turns that and presses into [Cue] and [Entry]
// values, a player makes cues audible, a journal keeps entries.
package coach
