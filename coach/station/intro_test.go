package station

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"evenbell/coach"
)

// The introduction comes the first time a tag is coached here, where the plan
// or a person asks for it, and never by itself where the clinic says so.
func TestWhoIsIntroduced(t *testing.T) {
	d := &Device{Config: &Config{Intro: true}, history: newHistory(time.UTC)}
	heron, maple := &coach.Programme{Tag: "K4"}, &coach.Programme{Tag: "M7"}
	assert.True(t, d.introduces(heron))
	d.history.add(coach.Entry{Kind: coach.EntrySessionStart, Tag: "K4", Session: "s", Data: &coach.SessionStartData{}})
	assert.False(t, d.introduces(heron))
	assert.True(t, d.introduces(maple))
	assert.True(t, d.introduces(&coach.Programme{Tag: "K4", Intro: true}), "the plan asks for it")
	d.asked = true
	assert.True(t, d.introduces(heron), "somebody held twice")
	d.asked, d.Config.Intro = false, false
	assert.False(t, d.introduces(maple))
}
