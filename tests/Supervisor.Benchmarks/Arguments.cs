namespace Supervisor.Benchmarks;

/// <summary>How long the runs of the suites are.</summary>
internal enum RunLength
{
    Usual = 0,

    /// <summary>As long as figures need that are to be relied on.</summary>
    Long = 1,

    /// <summary>Shows that a suite works; its figures mean nothing.</summary>
    Tiny = 2,
}

/// <summary>What the command was asked for.</summary>
/// <param name="Suites">Suites to run; empty: all.</param>
/// <param name="JsonFile">Where the figures go as a file; null: nowhere.</param>
/// <param name="Length">How long the runs are.</param>
internal sealed record Arguments(IReadOnlyList<string> Suites, string? JsonFile, RunLength Length)
{
    public const string Usage = "usage: dotnet run --project tests/Supervisor.Benchmarks -c Release -- [SUITE…] [--json FILE] [--long | --tiny]";

    public bool Long => Length == RunLength.Long;

    /// <summary>What fits the length of the runs.</summary>
    public T Sized<T>(T tiny, T usual, T @long) => Length switch { RunLength.Tiny => tiny, RunLength.Long => @long, _ => usual };

    /// <summary>Reads the command line; null with what is wrong.</summary>
    public static Arguments? Read(string[] args, IReadOnlyList<string> known, out string error)
    {
        var suites = new List<string>();
        string? json = null;
        var length = RunLength.Usual;
        error = "";
        for (var i = 0; i < args.Length; i++)
        {
            switch (args[i])
            {
                case "--long":
                    length = RunLength.Long;
                    break;
                case "--tiny":
                    length = RunLength.Tiny;
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

        return new Arguments(suites, json, length);
    }
}
