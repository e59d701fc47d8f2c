return args.Length == 0 ? 2 : 0;
