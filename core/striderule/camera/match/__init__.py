"""The taking camera found from a still: from known points that were clicked, or from a printed board."""
