"""What people read: sentences, pages, charts of a run."""
