"""What a design is made of; each part validates itself and knows no other floor above."""
