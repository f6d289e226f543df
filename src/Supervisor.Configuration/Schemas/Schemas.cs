namespace Supervisor.Configuration;

/// <summary>JSON Schemas (draft 2020-12) of the files, for editors. They know shapes and ranges; what depends on two places is checked by the readers only.</summary>
public static class Schemas
{
    /// <summary>Schema of a machine file.</summary>
    public static string Machine => Text("machine.schema.json");

    /// <summary>Schema of a drive definition.</summary>
    public static string Drive => Text("drive.schema.json");

    /// <summary>Schema of a routine file.</summary>
    public static string Routine => Text("routine.schema.json");

    private static string Text(string name)
    {
        using var stream = typeof(Schemas).Assembly.GetManifestResourceStream(name)
            ?? throw new InvalidOperationException($"{name} is not built in");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }
}
