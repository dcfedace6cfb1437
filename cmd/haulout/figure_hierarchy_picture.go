package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"haulout/web"
)

// draw writes the order as a picture beside which nothing else is needed.
func (f *hierarchyFigure) draw(path, title, source string) error {
	var svg bytes.Buffer
	if err := web.OrderPicture(&svg, f.picture(title, source)); err != nil {
		return fmt.Errorf("draw %s: %w", path, err)
	}
	if err := os.WriteFile(path, svg.Bytes(), 0o644); err != nil {
		return fmt.Errorf("write the picture: %w", err)
	}
	return nil
}

// picture has the animals in their order, or as the file has them, without
// places, where there is none.
func (f *hierarchyFigure) picture(title, source string) web.Picture {
	m, ids := f.in.matrix, f.verdict.Order
	if len(ids) == 0 {
		ids = m.IDs
	}
	out := web.Picture{Title: title, Sentence: f.pictureSentence(ids), Source: source}
	at := make([]int, len(ids))
	for i, id := range ids {
		at[i] = slices.Index(m.IDs, id)
	}
	for i, id := range ids {
		animal := web.PictureAnimal{Name: id}
		if place, stands := f.places[id]; stands {
			animal.First, animal.Likeliest, animal.Last = place.First, place.Likeliest, place.Last
		}
		out.Animals = append(out.Animals, animal)
		row := make([]float64, len(ids))
		for j := range ids {
			row[j] = m.Wins[at[i]][at[j]]
		}
		out.Wins = append(out.Wins, row)
	}
	for _, near := range f.verdict.Near {
		out.Near = append(out.Near, [2]int{slices.Index(ids, near.A), slices.Index(ids, near.B)})
	}
	return out
}

// pictureSentence is the verdict without the list of animals, which the picture
// shows itself.
func (f *hierarchyFigure) pictureSentence(ids []string) string {
	sentence := strings.Replace(f.verdict.Sentence, ", "+strings.Join(ids, ", "), "", 1)
	return strings.Replace(sentence, ": "+strings.Join(ids, ", "), "", 1)
}

// titleOf is what a picture is called that nobody gave a title.
func titleOf(path string) string {
	return "Who yields to whom: " + strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
}
