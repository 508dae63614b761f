// Package speech makes sound of words that no voice pack has: a note somebody
// typed, or, for whoever builds a pack, a script's sentences.
//
// The words go to a speech program that is installed, flite or espeak-ng, as
// one argument or on its standard input, never through a shell. The room
// knows no sentence, plan or session. It keeps these invariants:
//   - whatever the text is, the answer is clean sound or an error, within the
//     bounds of time, memory and length given here;
//   - only letters of the Latin alphabet, digits and plain punctuation reach a
//     program, so that no markup and no switch does;
//   - speech comes out trimmed, at the packs' loudness and 48 kHz, as a clip
//     of a pack does;
//   - the same words are spoken once and then read from the cache, unless what
//     is there is damaged.
package speech
