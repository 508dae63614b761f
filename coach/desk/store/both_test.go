package store_test

import (
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // registers the driver
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// TestMain also ends the PostgreSQL server, if a test has started one, and is
// the program that children of this one run.
func TestMain(m *testing.M) {
	if role := os.Getenv(childEnv); role != "" {
		os.Exit(child(role))
	}
	code := m.Run()
	server.stop()
	os.Exit(code)
}

// onBoth runs a test on a new store in a folder and on one in PostgreSQL.
func onBoth(t *testing.T, test func(t *testing.T, s *store.Store)) {
	t.Run("sqlite", func(t *testing.T) { test(t, inFolder(t, t.TempDir())) })
	t.Run("postgres", func(t *testing.T) { test(t, inPostgres(t)) })
}

func inFolder(t testing.TB, dir string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// inPostgres gives a store in a schema of its own.
func inPostgres(t testing.TB) *store.Store {
	t.Helper()
	dsn, err := server.database()
	if errors.Is(err, errNoPostgres) && os.Getenv("EVENBELL_PEERS") != "required" {
		t.Skip(err)
	}
	require.NoError(t, err)
	db, err := sql.Open("pgx", dsn)
	require.NoError(t, err)
	s, err := store.OpenPostgres(t.Context(), db)
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, s.Close())
		_ = db.Close()
	})
	return s
}

var errNoPostgres = errors.New("no PostgreSQL here: initdb and postgres are in Debian's package postgresql")

// postgres is a server of our own, in a temporary folder, on a Unix socket.
type postgres struct {
	once   sync.Once
	dir    string
	cmd    *exec.Cmd
	err    error
	number atomic.Int64
}

var server postgres

// database gives the address of a new, empty schema; a database of its own for
// each test would take seconds.
func (p *postgres) database() (string, error) {
	p.once.Do(func() { p.err = p.start() })
	if p.err != nil {
		return "", p.err
	}
	name := fmt.Sprintf("t%d", p.number.Add(1))
	db, err := sql.Open("pgx", p.dsn("public"))
	if err != nil {
		return "", err
	}
	defer db.Close()
	_, err = db.Exec("CREATE SCHEMA " + name)
	return p.dsn(name), err
}

func (p *postgres) dsn(schema string) string {
	return fmt.Sprintf("host=%s user=postgres dbname=postgres sslmode=disable search_path=%s", p.dir, schema)
}

func (p *postgres) start() error {
	initdb, postgres := findPostgres("initdb"), findPostgres("postgres")
	if initdb == "" || postgres == "" {
		return errNoPostgres
	}
	var err error
	if p.dir, err = os.MkdirTemp("/tmp", "pg"); err != nil { // a socket's path is short
		return err
	}
	as := &syscall.SysProcAttr{Pdeathsig: syscall.SIGQUIT}
	if os.Getuid() == 0 { // under which the server refuses to run
		u, err := user.Lookup("postgres")
		if err != nil {
			return err
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		as.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(p.dir, uid, gid); err != nil {
			return err
		}
	}
	data := filepath.Join(p.dir, "data")
	lay := exec.Command(initdb, "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
	lay.SysProcAttr, lay.Dir = &syscall.SysProcAttr{Credential: as.Credential}, p.dir
	if out, err := lay.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, out)
	}
	p.cmd = exec.Command(postgres, "-D", data, "-k", p.dir, "-c", "listen_addresses=", "-c", "fsync=off")
	p.cmd.SysProcAttr, p.cmd.Dir = as, p.dir
	if err := p.cmd.Start(); err != nil {
		return err
	}
	return p.ready()
}

func (p *postgres) ready() error {
	db, err := sql.Open("pgx", p.dsn("public"))
	if err != nil {
		return err
	}
	defer db.Close()
	for range 600 {
		if err = db.Ping(); err == nil {
			return nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return err
}

func (p *postgres) stop() {
	if p.cmd != nil && p.cmd.Process != nil {
		_ = p.cmd.Process.Signal(syscall.SIGINT)
		_ = p.cmd.Wait()
	}
	if p.dir != "" {
		_ = os.RemoveAll(p.dir)
	}
}

func findPostgres(program string) string {
	if path, err := exec.LookPath(program); err == nil {
		return path
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/" + program)
	if len(found) == 0 {
		return ""
	}
	return found[len(found)-1]
}
