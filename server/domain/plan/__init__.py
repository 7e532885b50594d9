"""When each waiting unit is called for, who starts it and who checks it with them."""
