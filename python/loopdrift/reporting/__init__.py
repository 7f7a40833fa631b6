"""Output for people: text, report pages and charts of a run."""
