// Package picture draws one whole session as a single SVG that a
// practitioner can read on a screen or on paper: what was led, what was
// asked and answered, which button was pressed when.
//
// Time runs from left to right. Every exercise begins a row of its own, and
// what does not fit goes on in the next row. Three scales keep a session to
// a page or two without hiding anything: a set is drawn in full, talk and
// questions at half, and stretches with nothing but a timer (warm-up,
// cool-down, rest, pause, waiting) at a quarter of that width. The axis under
// each row carries the session's own time in minutes and seconds and says by
// its line which scale it is in.
//
// The package is pure. It knows the vocabulary of coach and nothing else: no
// session, no script, no sound, no file. It invents nothing: what is not in
// the cues or the entries is not in the picture.
//
// Invariants: every press, set and led repetition of the entries appears; no
// meaning rests on colour alone; the arithmetic is in whole numbers, so the
// same input gives the same bytes on every architecture; all text is escaped;
// the picture needs no style sheet, script or other file.
package picture
