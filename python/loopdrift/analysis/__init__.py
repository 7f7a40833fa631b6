"""What follows from designs and runs: sizing, studies, comparison, cost."""
