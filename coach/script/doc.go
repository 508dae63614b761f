// Package script has the words: it turns a phrase into the sentence a person
// hears and into the clips a voice pack plays for it.
//
// All sentences of a language stand in one file (en.toml); what a number, a
// time or a load sounds like is the language's [grammar]. The room knows no
// sound, file or length, and does no I/O: the files are embedded.
//
// It keeps these invariants:
//   - every clip that Say can return is in Clips, and every sentence that
//     Text gives is the sentence those clips speak;
//   - a sentence is whole: a piece whose slot has nothing to say is left out
//     with its words, never with a gap;
//   - a clip's id is made from its words, so a pack built for other words is
//     found incomplete rather than saying something else.
package script
