"""How dried food is packed: oxygen, absorbers, containers, moisture through the package."""
