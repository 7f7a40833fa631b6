"""Analysis of designs and runs: sizing, studies, comparison, cost."""
