namespace Supervisor.Configuration.Reading;

/// <summary>Paths such as <c>axes[2].limits.position</c>.</summary>
internal static class MemberPath
{
    public static string Append(string path, int index) => $"{path}[{index}]";

    /// <summary>Appends a member; a name that would read wrongly in a path goes into brackets and quotes.</summary>
    public static string Append(string path, string member)
    {
        if (member.Length == 0 || !member.All(c => char.IsLetterOrDigit(c) || c is '_' or '-' or '$'))
        {
            return $"{path}[{Show.Quoted(member)}]";
        }

        return path.Length == 0 ? member : $"{path}.{member}";
    }
}
