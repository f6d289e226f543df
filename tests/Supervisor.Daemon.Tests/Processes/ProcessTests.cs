namespace Supervisor.Daemon.Tests.Processes;

/// <summary>Tests with real processes run one after the other: they share the processor with the drives they simulate.</summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class ProcessTests
{
    public const string Name = "processes";
}
