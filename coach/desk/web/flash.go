package web

import (
	"encoding/base64"
	"encoding/json"
	"net/http"
)

// flash is a word about what was just done, shown once at the top of the next
// page, perhaps with a way to undo it.
type flash struct {
	Text string `json:"t"`
	Bad  bool   `json:"b,omitempty"` // it did not work
	// Undo is the path that takes it back by a POST; empty where there is none.
	Undo     string            `json:"u,omitempty"`
	UndoWith map[string]string `json:"w,omitempty"` // form values for Undo
}

const flashCookie = "evenbell-said"

// flashLimit keeps the cookie within what browsers keep.
const flashLimit = 2000

// say puts the word where the next page finds it.
func (v *visit) say(f flash) {
	data, err := json.Marshal(f)
	if err != nil || len(data) > flashLimit {
		data, _ = json.Marshal(flash{Text: clip(f.Text, 300), Bad: f.Bad})
	}
	http.SetCookie(v.w, v.cookie(flashCookie, base64.RawURLEncoding.EncodeToString(data), 60))
}

// said takes the word, if there is one. The cookie is under the name that only
// our own pages over HTTPS can set, and what it says is written as text.
func (v *visit) said() *flash {
	c, err := v.r.Cookie(v.cookieName(flashCookie))
	if err != nil {
		return nil
	}
	http.SetCookie(v.w, v.cookie(flashCookie, "", -1))
	data, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil {
		return nil
	}
	var f flash
	if json.Unmarshal(data, &f) != nil || f.Text == "" {
		return nil
	}
	if !local(f.Undo) {
		f.Undo = ""
	}
	return &f
}

// clip is at most so many characters of a text.
func clip(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most-1]) + "…"
}
