using System.Buffers;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines.Messages;

/// <summary>Reads a channel that goes by a request.</summary>
internal sealed class WebhookReader(LoadedFile file)
{
    // What the program sets itself, or what would change how the body is read.
    private static readonly string[] Taken = ["Content-Type", "Content-Length", "Content-Encoding", "Transfer-Encoding", "Host", "Connection", "Idempotency-Key", "User-Agent"];

    // RFC 9110, 5.6.2: token.
    private static readonly SearchValues<char> Token = SearchValues.Create("!#$%&'*+-.^_`|~0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");

    public WebhookDefinition? Read(ObjectReader channel)
    {
        if (channel.Object("webhook", MessageShapes.Webhook) is not { } reader)
        {
            return null;
        }

        if (reader.Find("url") is null && reader.Find("urlFile") is null)
        {
            reader.Refuse("url", "is missing: where to, or \"urlFile\" where the address itself is a secret");
        }
        else if (reader.Find("url") is not null && reader.Find("urlFile") is not null)
        {
            reader.Refuse("urlFile", "stands beside \"url\"; give one of them");
        }

        var names = new UsedOnce<string>(file.Errors);
        var headers = new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase);
        foreach (var member in reader.Entries("headers"))
        {
            if (Values.Text(member.Value, file.Errors) is { } value && IsHeader(member.Name, member.NameOffset, member.Value, names))
            {
                headers[member.Name] = value;
            }
        }

        var secrets = new Dictionary<string, SecretPlace>(StringComparer.OrdinalIgnoreCase);
        foreach (var member in reader.Entries("secretHeaders"))
        {
            if (SecretReader.Read(member.Value, file) is { } place && IsHeader(member.Name, member.NameOffset, member.Value, names))
            {
                secrets[member.Name] = place;
            }
        }

        var plain = new WebhookDefinition();
        var signature = reader.Find("signatureHeader") is { } node && Values.Text(node, file.Errors) is { } name && IsHeader(name, node.Offset, node, names) ? name : null;
        if (reader.Find("signatureHeader") is not null && reader.Find("signatureKeyFile") is null)
        {
            reader.Refuse("signatureHeader", "needs \"signatureKeyFile\"");
        }

        return new WebhookDefinition
        {
            Url = ReadUrl(reader, secrets.Count > 0),
            SecretUrl = SecretReader.Read(reader, "urlFile", file),
            Headers = headers,
            SecretHeaders = secrets,
            SignatureKey = SecretReader.Read(reader, "signatureKeyFile", file),
            SignatureHeader = signature ?? plain.SignatureHeader,
            CertificateAuthority = reader.Text("certificateAuthority") is { } path ? file.Beside(path) : null,
        };
    }

    private Uri? ReadUrl(ObjectReader reader, bool hasSecrets)
    {
        if (reader.Find("url") is not { } node || Values.Text(node, file.Errors) is not { } text)
        {
            return null;
        }

        if (!Uri.TryCreate(text, UriKind.Absolute, out var url) || (url.Scheme != Uri.UriSchemeHttp && url.Scheme != Uri.UriSchemeHttps))
        {
            file.Errors.Add(node, $"{Show.Quoted(text)} is no address such as https://dispatch.example/incidents");
            return null;
        }

        if (url.UserInfo.Length > 0)
        {
            file.Errors.Add(node, "must hold no user and password; give them as \"Authorization\" among \"secretHeaders\"");
        }
        else if (hasSecrets && url.Scheme == Uri.UriSchemeHttp && !EmailReader.IsThisComputer(url.Host))
        {
            file.Errors.Add(node, "would send the secret headers in the clear; use https");
        }

        return url;
    }

    private bool IsHeader(string name, int offset, Node value, UsedOnce<string> names)
    {
        if (name.Length == 0 || name.AsSpan().ContainsAnyExcept(Token))
        {
            file.Errors.Add(offset, value.Path, $"{Show.Quoted(name)} is no name of a header");
            return false;
        }

        if (Taken.Contains(name, StringComparer.OrdinalIgnoreCase))
        {
            file.Errors.Add(offset, value.Path, $"{Show.Quoted(name)} is set by the program; take it out");
            return false;
        }

        names.Note(name.ToLowerInvariant(), value, line => $"the header {Show.Quoted(name)} is given in line {line} already");
        return true;
    }
}
