package store_test

const childEnv = "EVENBELL_STORE_CHILD"

func child(string) int { return 0 }
