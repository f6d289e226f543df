using System.Text.Json;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Memories;

/// <summary>The file in the state folder that keeps the counters of the machine file over a restart.</summary>
internal sealed class CounterFile(MachineDefinition machine, string folder)
{
    private readonly StateFile _file = new(folder, "counters.json", "counters", [.. machine.Counters.Select(counter => counter.Name)]);

    /// <inheritdoc cref="StateFile.Path"/>
    public string Path => _file.Path;

    /// <summary>What an earlier run left, in the machine file's order; 0 for a counter it did not know.</summary>
    /// <param name="problem">What is wrong with the file and what follows; null when it is good.</param>
    public long[] Read(out string? problem)
    {
        var counts = new long[machine.Counters.Count];
        problem = _file.Read((counter, entry) => counts[counter] = Take(entry)) is { } damage ? $"{damage}: every counter begins at 0" : null;
        return problem is null ? counts : new long[machine.Counters.Count];
    }

    /// <inheritdoc cref="StateFile.Write" path="/summary"/>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Write(IReadOnlyList<long> counts) => _file.Write(counter => counts[counter] > 0, (counter, writer) => writer.WriteNumber("count", counts[counter]));

    private static long Take(JsonElement entry)
    {
        var count = entry.GetProperty("count").GetInt64();
        return count >= 0 ? count : throw new FormatException("a count must be 0 or more");
    }
}
