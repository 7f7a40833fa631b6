"""The public interface: designs, runs and sites with all analyses as methods."""
