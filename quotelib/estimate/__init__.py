"""What will it do: pure functions of numbers, one published formula each; it knows no parts."""
