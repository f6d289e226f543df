using System.Text;

namespace Supervisor.Configuration.Tests;

/// <summary>A folder for files of one test.</summary>
internal sealed class TestFolder : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("supervisor-").FullName;

    public string At(string name) => Path.Combine(folder, name);

    public string Write(string name, string text) => Write(name, Encoding.UTF8.GetBytes(text));

    public string Write(string name, byte[] bytes)
    {
        File.WriteAllBytes(At(name), bytes);
        return At(name);
    }

    /// <summary>Errors as they are printed, without the folder in front.</summary>
    public string[] Lines(IEnumerable<FileError> errors) => [.. errors.Select(error => error.ToString().Replace(folder + Path.DirectorySeparatorChar, "", StringComparison.Ordinal))];

    public void Dispose() => Directory.Delete(folder, recursive: true);
}
