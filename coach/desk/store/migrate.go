package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed migrations
var embedded embed.FS

// migrations are the files that make the schema, in a folder of that name.
var migrations fs.FS = embedded

func provider(db engine) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	if db.name == "sqlite3" { // where the folder's lock keeps others out
		return goose.NewProvider(goose.DialectSQLite3, db.write, files, goose.WithDisableGlobalRegistry(true))
	}
	one, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectPostgres, db.write, files, goose.WithDisableGlobalRegistry(true), goose.WithSessionLocker(one))
}

// behind says which schema the database has and which this program wants.
func behind(ctx context.Context, p *goose.Provider) (has, wants int64, err error) {
	has, wants, err = p.GetVersions(ctx)
	if err != nil {
		return 0, 0, fmt.Errorf("reading the schema's version: %w", err)
	}
	if has > wants {
		return 0, 0, fmt.Errorf("%w: its schema is %d and this program knows up to %d; install the newer program, or restore a backup from before", ErrNewer, has, wants)
	}
	return has, wants, nil
}

// migrate brings the schema up to date. It only ever goes forward.
func migrate(ctx context.Context, db engine) error {
	p, err := provider(db)
	if err != nil {
		return fmt.Errorf("reading the migrations: %w", err)
	}
	has, wants, err := behind(ctx, p)
	if err != nil || has == wants {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bringing the schema from %d to %d: %w", has, wants, err)
	}
	return nil
}

// migrateFolder does so with the folder to itself, after a backup.
func migrateFolder(ctx context.Context, db engine, dir string, hold *os.File) error {
	p, err := provider(db)
	if err != nil {
		return fmt.Errorf("reading the migrations: %w", err)
	}
	if has, wants, err := behind(ctx, p); err != nil || has == wants {
		return err
	}
	if err := take(ctx, hold, true, patience); err != nil {
		return fmt.Errorf("the schema has to be brought up to date: %w", err)
	}
	has, wants, err := behind(ctx, p) // another program may have done it meanwhile
	if err != nil {
		return err
	}
	if has > 0 && has < wants {
		if err := vacuumInto(ctx, db.write, filepath.Join(dir, fmt.Sprintf("desk-before-schema-%d.db", wants))); err != nil {
			return fmt.Errorf("backing up before the schema is changed: %w", err)
		}
	}
	return errors.Join(migrate(ctx, db), take(ctx, hold, false, 0))
}

// newestSchema is the newest migration that this program has.
func newestSchema() (newest int64, err error) {
	files, err := fs.ReadDir(migrations, "migrations")
	if err != nil {
		return 0, err
	}
	for _, f := range files {
		v, err := goose.NumericComponent(f.Name())
		if err != nil {
			return 0, err
		}
		newest = max(newest, v)
	}
	return newest, nil
}

// schemaOf is the newest migration a file has had; 0 for none.
func schemaOf(ctx context.Context, db *sql.DB) (int64, error) {
	var v sql.NullInt64
	err := db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version WHERE is_applied").Scan(&v)
	return v.Int64, err
}
