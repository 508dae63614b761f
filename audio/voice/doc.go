// Package voice opens a voice pack and turns its clips into samples.
//
// A pack is a folder: manifest.json, one MP3 a clip (24 kHz, mono) and its
// licence. The manifest gives each clip's length at 48 kHz, so that a session
// can be laid out without decoding anything, and how many decoded samples go
// before its first one: the decoder does not trim the encoder's delay.
//
// The room knows clips by id and no sentence, phrase or session. It keeps
// these invariants:
//   - an opened pack is whole: every file the manifest names is there and
//     undamaged;
//   - a decoded clip has exactly the length the manifest says;
//   - [Store.Ready] takes no lock and never waits, so the audio goroutine may
//     call it; decoded clips are immutable and stay good after eviction.
package voice
