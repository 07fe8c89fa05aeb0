package app

import (
	"context"
	"image"

	"stillbench/session"
)

// noLog stands for a setup log that could not be opened: it holds nothing.
type noLog struct{}

func (noLog) Find(context.Context, session.SetupQuery) (session.SetupResults, error) {
	return session.SetupResults{}, nil
}

func (noLog) PictureIn(context.Context, string, string, int, int) (*image.RGBA, error) {
	return nil, session.ErrNotFound
}

func (noLog) PrintSetup(context.Context, session.FoundSetup) (string, error) {
	return "", session.ErrNotFound
}
