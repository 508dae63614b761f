package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
)

//go:embed assets
var assetFiles embed.FS

// asset is one file that browsers may keep for ever, since its name changes
// with its content.
type asset struct {
	kind   string // content type
	plain  []byte
	packed []byte // gzip; nil where it does not pay
}

// assets are the files by the names they are served under, and these names by
// the short ones that templates use.
type assets struct {
	files map[string]asset
	names map[string]string
}

// loadAssets joins the style sheets and the scripts, each into one file, and
// takes the other files as they are.
func loadAssets() (*assets, error) {
	a := &assets{files: map[string]asset{}, names: map[string]string{}}
	for _, j := range []struct{ folder, name string }{{"assets/css", "evenbell.css"}, {"assets/js", "evenbell.js"}} {
		joined, err := join(j.folder)
		if err != nil {
			return nil, err
		}
		if err := a.add(j.name, joined); err != nil {
			return nil, err
		}
	}
	others, err := fs.ReadDir(assetFiles, "assets")
	if err != nil {
		return nil, fmt.Errorf("listing the assets: %w", err)
	}
	for _, f := range others {
		if f.IsDir() {
			continue
		}
		data, err := assetFiles.ReadFile("assets/" + f.Name())
		if err != nil {
			return nil, fmt.Errorf("reading an asset: %w", err)
		}
		if err := a.add(f.Name(), data); err != nil {
			return nil, err
		}
	}
	return a, nil
}

// join is the files of a folder one after the other, in order of name.
func join(folder string) ([]byte, error) {
	list, err := fs.ReadDir(assetFiles, folder)
	if err != nil {
		return nil, fmt.Errorf("listing %s: %w", folder, err)
	}
	var b bytes.Buffer
	for _, f := range list {
		data, err := assetFiles.ReadFile(folder + "/" + f.Name())
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", f.Name(), err)
		}
		b.Write(data)
		b.WriteByte('\n')
	}
	return b.Bytes(), nil
}

func (a *assets) add(name string, data []byte) error {
	sum := sha256.Sum256(data)
	ext := path.Ext(name)
	hashed := strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:8]) + ext
	f := asset{kind: mime.TypeByExtension(ext), plain: data}
	if ext == ".wav" {
		f.kind = "audio/wav"
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return fmt.Errorf("packing %s: %w", name, err)
	}
	if _, err := z.Write(data); err != nil {
		return fmt.Errorf("packing %s: %w", name, err)
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("packing %s: %w", name, err)
	}
	if b.Len() < len(data)*9/10 {
		f.packed = b.Bytes()
	}
	a.files[hashed], a.names[name] = f, hashed
	return nil
}

// address is where a browser finds the asset of a short name. Naming one that
// does not exist is a mistake in a template, which a test of the page meets.
func (a *assets) address(name string) (string, error) {
	hashed, ok := a.names[name]
	if !ok {
		return "", fmt.Errorf("no asset is called %s", name)
	}
	return "/assets/" + hashed, nil
}

func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f, ok := a.files[r.PathValue("name")]
	if !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("Vary", "Accept-Encoding")
	data := f.plain
	if f.packed != nil && takesGzip(r) {
		h.Set("Content-Encoding", "gzip")
		data = f.packed
	}
	h.Set("Content-Length", strconv.Itoa(len(data)))
	if r.Method != http.MethodHead {
		// The reader may have gone; nobody is left to tell.
		_, _ = w.Write(data)
	}
}

// takesGzip reads the plain form in which browsers ask for it.
func takesGzip(r *http.Request) bool {
	return slices.ContainsFunc(strings.Split(r.Header.Get("Accept-Encoding"), ","), func(s string) bool {
		name, q, _ := strings.Cut(strings.TrimSpace(s), ";")
		return name == "gzip" && strings.TrimSpace(q) != "q=0"
	})
}
