using Supervisor.Daemon.Verbs;

return await CommandLine.RunAsync(args);
