// Package loudness measures how loud sound is and how high it peaks, as
// ITU-R BS.1770 describes: K-weighting, 400 ms blocks every 100 ms, gates at
// −70 LUFS and 10 LU under the mean; loudness range as EBU Tech 3342; true
// peak by fourfold oversampling.
//
// It knows samples and a rate, no file or device. A [Meter] keeps only the
// energy of each 100 ms, so an hour takes some 300 kB; its figures do not
// depend on how the sound is cut into writes.
package loudness
