using System.Text.Json;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;

namespace Supervisor.Configuration.Tests;

/// <summary>Damaged files, seeded: no exception, every error on one line and inside the file, a value exactly when there is no error.</summary>
public sealed class FuzzTests
{
    private const int Rounds = 600;

    private static readonly byte[][] Pieces =
    [
        "{"u8.ToArray(), "}"u8.ToArray(), "["u8.ToArray(), "]"u8.ToArray(), ","u8.ToArray(), ":"u8.ToArray(), "\""u8.ToArray(), "null"u8.ToArray(),
        "true"u8.ToArray(), "-1e999"u8.ToArray(), "1e18"u8.ToArray(), "0"u8.ToArray(), "\"\""u8.ToArray(), "{}"u8.ToArray(), "[]"u8.ToArray(),
        "\\ud800"u8.ToArray(), "\\u0000"u8.ToArray(), "/*"u8.ToArray(), "//"u8.ToArray(), "\n"u8.ToArray(), "\t"u8.ToArray(), "ä🙂"u8.ToArray(), [0xFF], [0xC3], [0],
    ];

    [Theory]
    [InlineData("everything.json", 1)]
    [InlineData("everything.drive.json", 2)]
    [InlineData("bits.drive.json", 3)]
    [InlineData("everything.routine.json", 4)]
    public void Read_DamagedBytes_NeverThrows(string name, int seed)
    {
        TestContext.Current.SendDiagnosticMessage("seed {0}", seed);
        var random = new Random(seed);
        var good = File.ReadAllBytes(Samples.Example(name));
        using var folder = NewFolder();
        var parsed = 0;
        for (var round = 0; round < Rounds; round++)
        {
            var damaged = good;
            for (var cuts = random.Next(1, 4); cuts > 0; cuts--)
            {
                damaged = Damage(damaged, random);
            }

            parsed += Check(folder, name, damaged, $"seed {seed}, round {round}") ? 1 : 0;
        }

        // Not vacuous: some damage must get past the parser and reach the checks.
        Assert.InRange(parsed, Rounds / 50, Rounds);
    }

    [Theory]
    [InlineData("everything.json", 5)]
    [InlineData("everything.drive.json", 6)]
    [InlineData("bits.drive.json", 7)]
    [InlineData("everything.routine.json", 8)]
    public void Read_ValuesSwapped_NeverThrows(string name, int seed)
    {
        TestContext.Current.SendDiagnosticMessage("seed {0}", seed);
        var random = new Random(seed);
        using var document = JsonDocument.Parse(EditedJson.Parse(Samples.Example(name)).ToJsonString());
        var values = Values(document.RootElement).ToArray();
        using var folder = NewFolder();
        for (var round = 0; round < Rounds; round++)
        {
            var text = EditedJson.Parse(Samples.Example(name)).ToJsonString();
            for (var swaps = random.Next(1, 5); swaps > 0; swaps--)
            {
                text = text.Replace(values[random.Next(values.Length)], values[random.Next(values.Length)], StringComparison.Ordinal);
                text = text.Length > 100_000 ? text[..100_000] : text;
            }

            Check(folder, name, System.Text.Encoding.UTF8.GetBytes(text), $"seed {seed}, round {round}");
        }
    }

    private static IEnumerable<string> Values(JsonElement element) => element.ValueKind switch
    {
        JsonValueKind.Object => element.EnumerateObject().SelectMany(member => Values(member.Value).Prepend($"\"{member.Name}\"")).Append(element.GetRawText()),
        JsonValueKind.Array => element.EnumerateArray().SelectMany(Values).Append(element.GetRawText()),
        _ => [element.GetRawText()],
    };

    private static byte[] Damage(byte[] bytes, Random random)
    {
        var at = random.Next(bytes.Length);
        var length = random.Next(Math.Min(12, bytes.Length - at));
        return random.Next(4) switch
        {
            0 => [.. bytes[..at], .. bytes[(at + length)..]],
            1 => [.. bytes[..at], .. Pieces[random.Next(Pieces.Length)], .. bytes[(at + length)..]],
            2 => [.. bytes[..at], .. bytes[at..(at + length)], .. bytes[at..]],
            _ => [.. bytes[..at], (byte)random.Next(' ', '~'), .. bytes[(at + 1)..]],
        };
    }

    private static TestFolder NewFolder()
    {
        var folder = new TestFolder();
        File.Copy(Samples.Example("everything.drive.json"), folder.At("everything.drive.json"));
        return folder;
    }

    /// <summary>True when the text was JSON.</summary>
    private static bool Check(TestFolder folder, string name, byte[] bytes, string label)
    {
        var path = folder.Write("x" + name[name.IndexOf('.')..], bytes);
        var (isGood, errors) = Read(path, label);
        Assert.Equal(errors.Count == 0, isGood);
        var lines = bytes.Count(b => b == '\n') + 1;
        Assert.All(errors, error =>
        {
            Assert.DoesNotContain(error.ToString(), char.IsControl);
            Assert.True(error.Line >= 1 && error.Column >= 1 && (error.File != path || error.Line <= lines), $"{label}: {error}");
        });
        Assert.Equal(errors.Where(error => error.File == path).OrderBy(error => error.Line).ThenBy(error => error.Column), errors.Where(error => error.File == path));
        return !errors.Any(error => error.Path.Length == 0);
    }

    private static (bool IsGood, IReadOnlyList<FileError> Errors) Read(string path, string label)
    {
        try
        {
            if (path.EndsWith(".drive.json", StringComparison.Ordinal))
            {
                var drive = DriveDefinitionFile.Read(path);
                return (drive.IsGood, drive.Errors);
            }

            if (path.EndsWith(".routine.json", StringComparison.Ordinal))
            {
                var routine = RoutineFile.Read(path, Samples.Machine(Samples.Example("everything.json")));
                return (routine.IsGood, routine.Errors);
            }

            var machine = MachineFile.Read(path);
            return (machine.IsGood, machine.Errors);
        }
        catch (Exception e)
        {
            Assert.Fail($"{label}: {e}");
            throw;
        }
    }
}
