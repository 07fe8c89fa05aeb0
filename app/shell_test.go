package app

import (
	"slices"
	"testing"

	"stillbench/app/place"
)

// In a row without room for all keys stand the one to press next, the one that leads away and the one
// that shows all the others, in their order, and of the rest those that come first.
func TestKeysThatFit(t *testing.T) {
	begin := place.Does("begin", nil, place.KeyEnter)
	begin.Strong = true
	list := []place.Action{place.Does("a", nil, "A"), begin, place.Does("b", nil, "B"), place.Does("back", nil, place.KeyEscape), place.Does("dim", nil, "D")}
	wide := []float32{10, 10, 10, 10, 10}
	for room, want := range map[float32][]int{50: {0, 1, 2, 3, 4}, 39: {0, 1, 3}, 25: {1, 3}, 12: {1}, 5: nil} {
		if got := fitting(list, wide, room); !slices.Equal(got, want) {
			t.Errorf("in %g stand %v, want %v", room, got, want)
		}
	}
	list[4] = place.Does("all keys", nil, "?")
	if got := fitting(list, wide, 39); !slices.Equal(got, []int{1, 3, 4}) {
		t.Errorf("with all the others' key stand %v", got)
	}
	list[3] = place.Does("c", nil, "C")
	if got := fitting(list, wide, 25); !slices.Equal(got, []int{1, 4}) {
		t.Errorf("where none leads away stand %v", got)
	}
	if got := fitting(nil, nil, 100); len(got) != 0 {
		t.Errorf("of none stand %v", got)
	}
}
