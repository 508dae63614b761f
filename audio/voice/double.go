package voice

import "evenbell/audio"

// Double gives twice as many samples for the same sound, as a clip plays them.
func Double(in []int16) []int16 { return audio.HalfClip(in).Samples() }
