namespace Supervisor.Benchmarks;

/// <summary>What the command was asked for.</summary>
/// <param name="Suites">Suites to run; empty: all.</param>
/// <param name="JsonFile">Where the figures go as a file; null: nowhere.</param>
/// <param name="Long">The long runs.</param>
internal sealed record Arguments(IReadOnlyList<string> Suites, string? JsonFile, bool Long)
{
    public const string Usage = "usage: dotnet run --project tests/Supervisor.Benchmarks -c Release -- [SUITE…] [--json FILE] [--long]";

    /// <summary>Reads the command line; null with what is wrong.</summary>
    public static Arguments? Read(string[] args, IReadOnlyList<string> known, out string error)
    {
        var suites = new List<string>();
        string? json = null;
        var isLong = false;
        error = "";
        for (var i = 0; i < args.Length; i++)
        {
            switch (args[i])
            {
                case "--long":
                    isLong = true;
                    break;
                case "--json" when i + 1 < args.Length:
                    json = args[++i];
                    break;
                case "--json":
                    error = "--json needs the path of a file";
                    return null;
                case var name when known.Contains(name):
                    suites.Add(name);
                    break;
                default:
                    error = $"'{args[i]}' is no suite; there are: {string.Join(", ", known)}";
                    return null;
            }
        }

        return new Arguments(suites, json, isLong);
    }
}
