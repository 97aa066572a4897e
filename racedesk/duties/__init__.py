"""The marshal roster of a race: who stands where, who relieves whom, who is exempt, who helps, who was missing."""
