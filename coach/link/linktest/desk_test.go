package linktest_test

import (
	"testing"

	"evenbell/coach/link/linktest"
)

func TestTheDeskInMemoryKeepsTheContract(t *testing.T) {
	linktest.Contract(t, func(*testing.T) linktest.Subject {
		d := linktest.NewDesk()
		return linktest.Subject{Desk: d, Code: d.Code, Raised: func() int { return len(d.Urgent()) },
			Broken: func() int { return len(d.Breaks()) }, Revoke: d.Revoke}
	})
}
