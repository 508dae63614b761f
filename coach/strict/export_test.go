package strict

// Declare lets a test ask for a key without judging its type.
func Declare(t *Table, key string) { t.declare(key) }
