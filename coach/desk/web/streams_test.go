package web

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLivePagesOfOneLoginAreBounded(t *testing.T) {
	var s streams
	for range mostStreams {
		assert.True(t, s.open("one"))
	}
	assert.False(t, s.open("one"))
	assert.True(t, s.open("another"))
	s.close("one")
	assert.True(t, s.open("one"))
	s.close("another")
	assert.NotContains(t, s.many, "another")
}
