package link_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// The test vectors of RFC 4226, appendix D: the last six digits of the number.
func TestHOTPAsPublished(t *testing.T) {
	for counter, want := range []uint32{755224, 287082, 359152, 969429, 338314, 254676, 287922, 162583, 399871, 520489} {
		assert.Equal(t, want, link.HOTP([]byte("12345678901234567890"), uint64(counter))%1000000)
	}
}

func batch(t testing.TB, lines int) []byte {
	const epoch = "0123456789abcdef0123456789abcdef"
	text := []byte(`{"epoch":"` + epoch + `","after":0,"before":"0000000000000000000000000000000000000000000000000000000000000000","gone":false,"lines":` + string(rune('0'+lines)) + "}\n")
	for n := range lines {
		e := coach.Entry{Epoch: epoch, Seq: int64(n + 1), Kind: coach.EntryRep, Data: &coach.RepData{}}
		if n == 0 {
			e.Kind, e.Data = coach.EntryStart, &coach.StartData{}
		}
		line, err := journal.Line(e)
		require.NoError(t, err)
		text = append(append(text, line...), '\n')
	}
	return text
}

func FuzzParseBatch(f *testing.F) {
	whole := batch(f, 3)
	f.Add(whole)
	for cut := range whole {
		if cut%40 == 0 {
			f.Add(whole[:cut])
		}
	}
	f.Add(bytes.Replace(whole, []byte(`"lines":3`), []byte(`"lines":0`), 1))
	f.Fuzz(func(t *testing.T, text []byte) {
		b, err := link.ParseBatch(text)
		if err != nil {
			return
		}
		require.True(t, len(b.Records) > 0 || b.Gone)
		at := b.Before
		for i, r := range b.Records {
			require.Equal(t, b.After+int64(i)+1, r.Seq)
			require.Equal(t, b.Epoch, r.Epoch)
			at = at.Next(r.Line)
			require.Equal(t, at, r.Hash)
			e, err := r.Entry()
			require.NoError(t, err)
			require.Equal(t, r.Seq, e.Seq)
		}
	})
}

func FuzzParseUrgent(f *testing.F) {
	f.Add([]byte("{\"boot\":\"b\",\"mono_ns\":5}\n{\"epoch\":\"0123456789abcdef0123456789abcdef\",\"seq\":3,\"kind\":\"stop\"}\n"))
	f.Add([]byte("{}\n{}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		u, err := link.ParseUrgent(text)
		if err == nil {
			require.Positive(t, u.Entry.Seq)
			require.NotContains(t, string(u.Line), "\n")
		}
	})
}

func FuzzParseCode(f *testing.F) {
	f.Add("ABCD-EFGH-IJKL-MN23")
	f.Add("abcd efgh 1jk1 mn80")
	f.Fuzz(func(t *testing.T, s string) {
		code, err := link.ParseCode(s)
		if err != nil {
			return
		}
		require.Len(t, code, 19)
		again, err := link.ParseCode(code)
		require.NoError(t, err)
		require.Equal(t, code, again)
	})
}

// What is written is read again as it was.
func FuzzStatus(f *testing.F) {
	text, err := json.Marshal(link.Status{Session: &link.SessionStatus{Tag: "K4"}, Held: []string{"P7"}})
	require.NoError(f, err)
	f.Add(text)
	f.Fuzz(func(t *testing.T, text []byte) {
		var s, again link.Status
		if link.Decode(text, &s) != nil {
			return
		}
		b, err := json.Marshal(s)
		require.NoError(t, err)
		require.NoError(t, link.Decode(b, &again))
	})
}
