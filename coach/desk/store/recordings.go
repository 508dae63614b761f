package store

import (
	"context"
	"encoding/base64"
	"fmt"
	"time"

	"evenbell/coach"
)

// Recording is a line of an exercise of the clinic's own that somebody
// recorded. There is one for the same words in a language.
type Recording struct {
	Language string // of the words, as voice packs name it
	Text     string // the words, exactly
	Hash     string // tells it from any other
	// Exercise and Line say what it was recorded for; other exercises may have
	// the same words.
	Exercise string
	Line     coach.OwnLine
	Length   time.Duration
	By       string
	At       time.Time
	Signed   string // by which supervisor; empty while it goes to no station
	SignedAt time.Time
}

const recordingColumns = "language, text, hash, exercise, line, length_ms, by_name, at, signed, signed_at"

func scanRecording(r row) (v Recording, err error) {
	return v, r.Scan(&v.Language, &v.Text, &v.Hash, &v.Exercise, &v.Line, aSpan(&v.Length), &v.By, aTime(&v.At), &v.Signed, aTime(&v.SignedAt))
}

// KeepRecording keeps a recording with its sound, in place of one of the same
// words. Nobody has signed it.
func (s *Store) KeepRecording(ctx context.Context, v Recording, sound []byte) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		_, err := c.exec(ctx, "INSERT INTO recording ("+recordingColumns+`, sound) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, '', 0, $9)
			ON CONFLICT (language, text) DO UPDATE SET hash = excluded.hash, exercise = excluded.exercise, line = excluded.line,
			length_ms = excluded.length_ms, by_name = excluded.by_name, at = excluded.at, signed = '', signed_at = 0, sound = excluded.sound`,
			v.Language, v.Text, v.Hash, v.Exercise, string(v.Line), v.Length.Milliseconds(), v.By, millis(v.At), base64.StdEncoding.EncodeToString(sound))
		return err
	})
}

// SignRecording notes which supervisor signed a recording; ErrNotFound.
func (s *Store) SignRecording(ctx context.Context, hash, by string, at time.Time) error {
	return s.set(ctx, "recording", "UPDATE recording SET signed = $1, signed_at = $2 WHERE hash = $3", by, millis(at), hash)
}

// RemoveRecording deletes a recording; ErrNotFound.
func (s *Store) RemoveRecording(ctx context.Context, hash string) error {
	return s.set(ctx, "recording", "DELETE FROM recording WHERE hash = $1", hash)
}

// Recordings gives all of them without their sound, by language and words.
func (s *Store) Recordings(ctx context.Context) ([]Recording, error) {
	return many(ctx, s.reading(ctx), scanRecording, "the recordings", "SELECT "+recordingColumns+" FROM recording ORDER BY language, text")
}

// Recording gives one with its sound; ErrNotFound.
func (s *Store) Recording(ctx context.Context, hash string) (Recording, []byte, error) {
	type whole struct {
		Recording
		sound string
	}
	v, err := one(ctx, s.reading(ctx), func(r row) (v whole, err error) {
		return v, r.Scan(&v.Language, &v.Text, &v.Hash, &v.Exercise, &v.Line, aSpan(&v.Length), &v.By, aTime(&v.At), &v.Signed, aTime(&v.SignedAt), &v.sound)
	}, "recording", "SELECT "+recordingColumns+", sound FROM recording WHERE hash = $1", hash)
	if err != nil {
		return v.Recording, nil, err
	}
	sound, err := base64.StdEncoding.DecodeString(v.sound)
	if err != nil {
		err = fmt.Errorf("reading a recording: %w", err)
	}
	return v.Recording, sound, err
}
