// Package sounds holds the voice packs, one folder a language: one MP3 a
// clip, a manifest, and the notice of whoever the voice is owed to. It knows
// nothing else; `voice build` makes a pack and `voice check` looks it over.
package sounds

import "embed"

// FS has one folder a language, "en" and "es"; the voice of the latter is
// a placeholder, as its notice says.
//
//go:embed en es
var FS embed.FS
