namespace Supervisor.Runtime.Tests.Support;

/// <summary>Tests that count threads or descriptors of the whole process: nothing else runs beside them.</summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class AloneCollection
{
    public const string Name = "alone";
}
