package events

import (
	"encoding/json"
	"testing"
)

func object(t testing.TB, line []byte) map[string]any {
	t.Helper()
	out := map[string]any{}
	if err := json.Unmarshal(line, &out); err != nil {
		t.Fatalf("%v in %s", err, line)
	}
	return out
}
