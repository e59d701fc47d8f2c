using System.CommandLine;
using AutoPlace.ServiceLoad;

var root = new RootCommand("Puts load on AutoPlace and prints what it did.") { ServeLoad.Command(), BulkLoad.Command() };
return await root.Parse(args).InvokeAsync();
