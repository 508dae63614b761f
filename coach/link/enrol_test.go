package link_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/http2"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

// refusedCode asserts that a code lets nobody in, and that nothing was kept.
func refusedCode(t *testing.T, s *linktest.Server, code string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "data")
	_, err := link.Enrol(context.Background(), s.URL(), code, dir)
	require.ErrorIs(t, err, link.ErrCode)
	require.NoDirExists(t, dir)
}

func wrongCode(t *testing.T) string {
	c, err := link.NewCode(rand.Reader)
	require.NoError(t, err)
	return c
}

func TestACodeLetsOneDeviceInOnce(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	code, dir := d.Code("Bay 3"), t.TempDir()
	typed := strings.ToLower(strings.ReplaceAll(code, "-", " "))
	id, err := link.Enrol(context.Background(), s.URL(), typed, dir)
	require.NoError(t, err)
	assert.Equal(t, "Bay 3", id.Name)
	assert.Equal(t, s.Key.Fingerprint(), id.Desk)
	assert.Len(t, id.Secret, 32)
	kept, err := link.ReadIdentity(dir)
	require.NoError(t, err)
	assert.Equal(t, id.Key.Fingerprint(), kept.Key.Fingerprint())
	assert.Equal(t, id.Secret, kept.Secret)
	info, err := os.Stat(filepath.Join(dir, "link.json"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	refusedCode(t, s, code)
}

func TestCodesThatLetNobodyIn(t *testing.T) {
	t.Run("expired", func(t *testing.T) {
		d := linktest.NewDesk()
		s := linktest.Serve(t, d)
		code := d.Code("Bay 3")
		d.Pass(10*time.Minute + time.Second)
		refusedCode(t, s, code)
	})
	t.Run("the sixth try", func(t *testing.T) {
		d := linktest.NewDesk()
		s := linktest.Serve(t, d)
		code := d.Code("Bay 3")
		for range 5 {
			refusedCode(t, s, wrongCode(t))
		}
		refusedCode(t, s, code)
	})
	t.Run("the fifth try", func(t *testing.T) {
		d := linktest.NewDesk()
		s := linktest.Serve(t, d)
		code := d.Code("Bay 3")
		for range 4 {
			refusedCode(t, s, wrongCode(t))
		}
		_, err := link.Enrol(context.Background(), s.URL(), code, t.TempDir())
		require.NoError(t, err)
	})
	t.Run("no code at all", func(t *testing.T) {
		_, err := link.Enrol(context.Background(), "https://127.0.0.1:1", "abc", t.TempDir())
		require.ErrorContains(t, err, "sixteen letters and digits")
	})
}

// Who stands between and shows a key of its own is let in by nobody: the
// proof is over the key that the device saw.
func TestWhoStandsBetweenLearnsNothing(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	code := d.Code("Bay 3")
	m := passOn(t, s)
	_, err := link.Enrol(context.Background(), m, code, t.TempDir())
	require.ErrorIs(t, err, link.ErrCode, "the desk sees a proof over another's keys")

	// One that welcomes everybody does not know the code, either.
	w := linktest.Serve(t, &welcomes{linktest.NewDesk()})
	dir := filepath.Join(t.TempDir(), "data")
	_, err = link.Enrol(context.Background(), w.URL(), code, dir)
	require.ErrorIs(t, err, link.ErrImpostor)
	require.NoDirExists(t, dir)
}

// passOn stands between with a key of its own and passes on to the desk, word
// for word, what it is sent, and back. It gives its address.
func passOn(t *testing.T, to *linktest.Server) string {
	t.Helper()
	key, err := link.NewKey()
	require.NoError(t, err)
	onward := speak(t, key)
	between := &http.Server{TLSConfig: &tls.Config{}, ReadHeaderTimeout: 10 * time.Second}
	require.NoError(t, link.Attach(between, key, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ask, err := http.NewRequest(r.Method, to.URL()+r.URL.Path, r.Body)
		if err != nil {
			panic(err)
		}
		answer, err := onward.Do(ask)
		if err != nil {
			panic(err)
		}
		defer answer.Body.Close()
		w.WriteHeader(answer.StatusCode)
		_, _ = io.Copy(w, answer.Body)
	})))
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	done := make(chan struct{})
	go func() { defer close(done); _ = between.ServeTLS(l, "", "") }()
	t.Cleanup(func() { _ = between.Close(); <-done })
	return "https://" + l.Addr().String()
}

type welcomes struct{ link.Desk }

func (welcomes) Enrol(context.Context, string, string, func(string) bool) (link.Enrolment, error) {
	return link.Enrolment{Code: "AAAA-AAAA-AAAA-AAAA", Name: "Bay 3", Secret: make([]byte, 32)}, nil
}

// speak is a client that speaks the link with a key of its own.
func speak(t *testing.T, key link.Key) *http.Client {
	t.Helper()
	cert, err := key.Certificate(time.Unix(0, 0), time.Unix(1, 0)) // as a device in 1970 would have it
	require.NoError(t, err)
	tr := &http2.Transport{TLSClientConfig: &tls.Config{Certificates: []tls.Certificate{cert}, NextProtos: []string{link.ALPN}, InsecureSkipVerify: true}}
	tr.DialTLSContext = dialer(tr.TLSClientConfig)
	t.Cleanup(tr.CloseIdleConnections)
	return &http.Client{Transport: tr}
}

func post(t *testing.T, c *http.Client, url string, body []byte) (int, string) {
	t.Helper()
	answer, err := c.Post(url, "application/json", bytes.NewReader(body))
	require.NoError(t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	if answer.StatusCode >= 400 {
		require.Equal(t, "application/problem+json", answer.Header.Get("Content-Type"), "%s", text)
		var p map[string]any
		require.NoError(t, json.Unmarshal(text, &p))
		require.EqualValues(t, answer.StatusCode, p["status"])
	}
	return answer.StatusCode, string(text)
}

func TestWhoIsNotLetIn(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	stranger, err := link.NewKey()
	require.NoError(t, err)
	for _, path := range []string{"marks", "entries", "urgent", "status"} {
		code, text := post(t, speak(t, stranger), s.URL()+"/link/1/"+path, []byte("{}"))
		assert.Equal(t, http.StatusForbidden, code, path)
		assert.Contains(t, text, "/problems/unknown")
	}

	dir := enrolled(t, d, s, "Bay 3")
	id, err := link.ReadIdentity(dir)
	require.NoError(t, err)
	c := speak(t, id.Key)
	code, _ := post(t, c, s.URL()+"/link/1/marks", []byte(`{"epochs": []}`))
	assert.Equal(t, http.StatusOK, code)
	d.Revoke("Bay 3")
	code, text := post(t, c, s.URL()+"/link/1/marks", []byte(`{"epochs": []}`))
	assert.Equal(t, http.StatusForbidden, code, "revoked, on a connection that was there before")
	assert.Contains(t, text, "/problems/revoked")
}

func TestARevokedStationLosesItsStream(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	b := newBox(t, enrolled(t, d, s, "Bay 3"), s.URL())
	eventually(t, b.client.Up, "the desk was not reached")
	d.Revoke("Bay 3")
	eventually(t, func() bool { return !b.client.Up() }, "a revoked station still listens")
	b.add(reps(3)...)
	time.Sleep(300 * time.Millisecond)
	require.Zero(t, d.Of(coach.EntryRep), "nothing of it is taken")
}

// A station talks to the desk that let it in, and to no other, whatever the
// address leads to.
func TestWrongPin(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	other := linktest.Serve(t, linktest.NewDesk())
	b := newBox(t, dir, other.URL())
	b.add(reps(3)...)
	time.Sleep(300 * time.Millisecond)
	require.False(t, b.client.Up())
	require.EqualValues(t, 4, b.unsent())
}

func TestBodiesAreBoundedAndStrict(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	id, err := link.ReadIdentity(enrolled(t, d, s, "Bay 3"))
	require.NoError(t, err)
	c := speak(t, id.Key)
	big := bytes.Repeat([]byte("a"), 10<<20)
	for _, path := range []string{"enrol", "marks", "entries", "urgent", "status"} {
		code, text := post(t, c, s.URL()+"/link/1/"+path, big)
		assert.Equal(t, http.StatusRequestEntityTooLarge, code, "%s: %s", path, text)
	}
	for path, body := range map[string]string{
		"marks":   `{"epochs": 1}`,
		"status":  `{"program": "p"} {"program": "q"}`,
		"urgent":  `{}`,
		"entries": "{\"epoch\":\"00000000000000000000000000000000\",\"after\":0,\"before\":\"\",\"gone\":false,\"lines\":1}\n",
	} {
		code, text := post(t, c, s.URL()+"/link/1/"+path, []byte(body))
		assert.Equal(t, http.StatusBadRequest, code, "%s: %s", path, text)
	}
}

// A forged entry is one that does not continue the chain, or is not what its
// batch says it is.
func TestForgedEntries(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	b := newBox(t, dir, s.URL())
	b.add(reps(5)...)
	b.arrived(d)
	b.stop()
	id, err := link.ReadIdentity(dir)
	require.NoError(t, err)
	line, err := journal.Line(coach.Entry{Epoch: b.log.Epoch(), Seq: 7, Kind: coach.EntryStop})
	require.NoError(t, err)
	head := `{"epoch":"` + b.log.Epoch() + `","after":6,"before":"` + strings.Repeat("ab", 32) + `","gone":false,"lines":1}` + "\n"
	code, text := post(t, speak(t, id.Key), s.URL()+"/link/1/entries", []byte(head+string(line)+"\n"))
	assert.Equal(t, http.StatusConflict, code, text)
	assert.NotEmpty(t, d.Breaks())
	code, _ = post(t, speak(t, id.Key), s.URL()+"/link/1/entries", []byte(strings.Replace(head, `"after":6`, `"after":5`, 1)+string(line)+"\n"))
	assert.Equal(t, http.StatusBadRequest, code, "its number is another")
	assert.Zero(t, d.Of(coach.EntryStop))
}

func TestBrowsersAreNotAskedForACertificate(t *testing.T) {
	s := linktest.Serve(t, linktest.NewDesk())
	for _, protocols := range [][]string{{"h2", "http/1.1"}, {"http/1.1"}, nil} {
		asked := false
		c, err := tls.Dial("tcp", s.Addr, &tls.Config{InsecureSkipVerify: true, NextProtos: protocols,
			GetClientCertificate: func(*tls.CertificateRequestInfo) (*tls.Certificate, error) {
				asked = true
				return &tls.Certificate{}, nil
			}})
		require.NoError(t, err)
		_, err = c.Write([]byte("GET / HTTP/1.0\r\n\r\n")) // makes a TLS 1.3 client hear of a refusal
		require.NoError(t, err)
		_, _ = c.Read(make([]byte, 1))
		assert.False(t, asked, "%v", protocols)
		require.NoError(t, c.Close())
	}
	web := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, ForceAttemptHTTP2: true}}
	defer web.CloseIdleConnections()
	answer, err := web.Get(s.URL() + "/link/1/enrol")
	require.NoError(t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	assert.Equal(t, "pages", string(text), "the link is not to be had by a browser")
	assert.Equal(t, 2, answer.ProtoMajor)
}

func TestTelephoneCodes(t *testing.T) {
	secret := bytes.Repeat([]byte{7}, 32)
	seen := map[string]bool{}
	for counter := range int64(100) {
		for _, tag := range []string{"K4", "P7"} {
			seen[fmt.Sprint(link.TelephoneCode(secret, tag, counter+1))] = true
		}
	}
	assert.Greater(t, len(seen), 195, "codes differ by counter and by tag")
	assert.Equal(t, link.TelephoneCode(secret, "K4", 3), link.TelephoneCode(secret, "K4", 3))
	assert.NotEqual(t, link.TelephoneCode(secret, "K4", 3), link.TelephoneCode(bytes.Repeat([]byte{8}, 32), "K4", 3))
}

// A technician may enrol as root; the file must be the station's.
func TestWhatIsKeptBelongsToTheFoldersOwner(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("only root gives files away")
	}
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := t.TempDir()
	require.NoError(t, os.Chown(dir, 4242, 4243))
	_, err := link.Enrol(context.Background(), s.URL(), d.Code("Bay 3"), dir)
	require.NoError(t, err)
	info, err := os.Stat(filepath.Join(dir, "link.json"))
	require.NoError(t, err)
	owner := info.Sys().(*syscall.Stat_t)
	assert.EqualValues(t, 4242, owner.Uid)
	assert.EqualValues(t, 4243, owner.Gid)
}
