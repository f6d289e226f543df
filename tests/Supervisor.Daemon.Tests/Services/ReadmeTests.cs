using Supervisor.Daemon.Services;
using Supervisor.Daemon.Tests.House;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Tests.Services;

/// <summary>What integrators read is what the daemon does.</summary>
public sealed class ReadmeTests
{
    [Fact]
    public void Readme_EveryRefusal_StandsInTheRowOfItsCode()
    {
        var rows = File.ReadAllLines(Path.Combine(Repository.Root, "proto", "README.md")).Where(line => line.StartsWith("| `", StringComparison.Ordinal)).ToArray();
        foreach (var refusal in Enum.GetValues<Refusal>().Where(refusal => refusal != Refusal.None))
        {
            var code = System.Text.RegularExpressions.Regex.Replace(ApiErrors.CodeOf(refusal).ToString(), "(?<=[a-z])(?=[A-Z])", "_").ToUpperInvariant();
            Assert.Contains(rows, row => row.StartsWith($"| `{code}` |", StringComparison.Ordinal) && row.Contains($"`{ApiErrors.ReasonOf(refusal)}`", StringComparison.Ordinal));
        }
    }
}
