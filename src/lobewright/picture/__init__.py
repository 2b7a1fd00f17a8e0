"""Pictures: palette, display lists, painters and the moving page. Knows nothing of drives."""
