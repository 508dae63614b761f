package store

import (
	"context"
	"fmt"
	"io/fs"
	"testing"
	"testing/fstest"
)

// OpenCareless opens a store as no program may: the proofs show that anything
// less than FULL loses what it has acknowledged, and checkpoint often enough
// to see power cuts during checkpoints.
func OpenCareless(ctx context.Context, dir, synchronous string, commits int64) (*Store, error) {
	return open(ctx, dir, care{synchronous, commits, fullCare.bytes})
}

// Sound looks over a file that nobody has open.
func Sound(ctx context.Context, file string) (schema int64, err error) {
	return sound(ctx, file, "integrity_check")
}

// NextMigration gives this program one migration more, until the test ends, and
// says which.
func NextMigration(t testing.TB, text string) int64 {
	newest, err := newestSchema()
	if err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{fmt.Sprintf("migrations/%05d_more.sql", newest+1): {Data: []byte(text)}}
	known, err := fs.ReadDir(embedded, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range known {
		text, err := embedded.ReadFile("migrations/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		files["migrations/"+f.Name()] = &fstest.MapFile{Data: text}
	}
	migrations = files
	t.Cleanup(func() { migrations = embedded })
	return newest + 1
}
