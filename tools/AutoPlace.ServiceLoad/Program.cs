using System.CommandLine;
using AutoPlace.ServiceLoad;

var root = new RootCommand("Puts load on AutoPlace and prints what it did.") { ServeLoad.Command(), KillLoad.Command(), BulkLoad.Command() };
return await root.Parse(args).InvokeAsync();
