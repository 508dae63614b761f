// Package audio makes sound from numbers: notes and clips placed at absolute
// samples, mixed and limited.
//
// It knows nothing of exercises or sessions. Everything in it is a value that
// can be copied as a snapshot and goes on from there exactly as the original
// would; nothing depends on how the stream is cut into blocks, and mixing a
// block allocates nothing. Positions are sample counts from the beginning of
// the stream at [Rate].
package audio

// Rate is the number of samples a second of everything here.
const Rate = 48000
