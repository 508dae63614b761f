// Package audibility says how far a note stands above what an ear of a given
// age hears and above the noise of a room.
//
// It is arithmetic: it plays and measures nothing, knows notes and no
// exercise, and its figures are medians of healthy ears and a model of a room,
// never a promise about one person. What it takes for given:
//
//   - [SpeechDB]: how loud speech at −16 LUFS arrives at the person with the
//     volume at 0 dB. A clinic sets its speaker to that.
//   - Hearing: the median shift with age of ISO 7029:2017 on top of the
//     free-field threshold of ISO 389-7; the latter's values are from memory.
//     There is no shift below 500 Hz in our tables: the one at 500 Hz stands
//     for it.
//   - Noise: pink, of the stated A-weighted level; a tone is as loud as the
//     noise where its level is that of the third octave around it. Both are
//     simplifications from memory: machines and voices are not pink, and a
//     tone is heard a little below that level.
//   - Short sounds: the ear gathers 200 ms (from memory, no source), so that
//     a sound counts by its energy in the best 200 ms.
package audibility
